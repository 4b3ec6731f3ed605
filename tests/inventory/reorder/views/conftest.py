import pytest

from inventory.reorder.actions.orders import add_to_draft, send_order
from tests.make import make_offer, make_part


@pytest.fixture
def draft(site, supplier):
    part = make_part(number="QX-4410")
    make_offer(supplier, part, pack=4, pack_price_cents=1_037)
    return add_to_draft(supplier, site=site, part=part, pieces=8, by=None).order


@pytest.fixture
def sent(draft):
    return send_order(draft, by=None)
