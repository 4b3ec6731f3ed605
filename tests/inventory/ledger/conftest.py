"""The site and the part that most actions on stock are tried with."""

import pytest

from tests.make import make_part, make_site


@pytest.fixture
def site():
    return make_site(name="Quay")


@pytest.fixture
def kit():
    return make_part(kind="kit", number="KT-4")
