"""Who opens the pages: the technician of the bay."""

import pytest


@pytest.fixture
def signed_in(client, bay):
    client.force_login(bay.technician)
    return client
