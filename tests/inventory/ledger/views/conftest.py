import pytest

from inventory.shop.roles import Role
from tests.make import make_site, make_user


@pytest.fixture
def site():
    return make_site(name="Mill Road", code="MILL")


@pytest.fixture
def other():
    return make_site(name="Harbour", code="HARB")


@pytest.fixture
def manager(client, site):
    client.force_login(make_user(Role.PARTS_MANAGER, home_site=site))
    return client


@pytest.fixture
def technician(client, site):
    client.force_login(make_user(home_site=site))
    return client
