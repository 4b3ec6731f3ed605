"""A parts manager on Monday morning: two deliveries and a count, without touching the mouse."""

import pytest
from playwright.sync_api import expect

from inventory.ledger.audit import audit
from inventory.ledger.models import CountLine, Shelf
from inventory.reorder.actions.orders import add_to_draft, send_order
from inventory.reorder.models import Order, OrderStatus
from tests.browser.hands import DESK, enter, reach, reads_well, scan
from tests.make import make_bin, make_offer, make_part, make_site, make_stock, make_supplier

pytestmark = pytest.mark.browser

PIECES = 6


@pytest.fixture
def site(transactional_db):
    return make_site(name="Quay")


@pytest.fixture
def orders(site):
    """One that comes whole, and one of which two pieces are short."""
    return [order_of(site, "Corrow Valve Supply", "CV"), order_of(site, "Skandre Parts", "SK")]


@pytest.fixture
def bin(site):
    shelf = make_bin(site, code="A-01")
    for number in ("KT-1", "KT-2"):
        make_stock(make_part("kit", number=number), site, pieces=PIECES, bin=shelf)
    return shelf


def order_of(site, name, letters):
    supplier = make_supplier(name=name)
    for number in (1, 2):
        part = make_part(number=f"{letters}-{number}")
        make_offer(supplier, part)
        line = add_to_draft(supplier, site=site, part=part, pieces=4, by=None)
    return send_order(line.order, by=None)


class TestMonday:
    def test_two_deliveries_and_a_count_by_keyboard(self, site, orders, bin, signed_in):
        page = signed_in("parts_manager", home_site=site)
        page.set_viewport_size(DESK)
        whole, short = orders
        self.receive(page, whole, {"CV-1": 4, "CV-2": 4})
        self.receive(page, short, {"SK-1": 4, "SK-2": 2})
        self.count(page, {"KT-1": PIECES, "KT-2": PIECES - 1})
        statuses = Order.objects.order_by("pk").values_list("status", flat=True)
        assert list(statuses) == [OrderStatus.DELIVERED, OrderStatus.PART_DELIVERED]
        on_hand = {s.part.number: s.on_hand for s in Shelf.objects.select_related("part")}
        assert on_hand == {"CV-1": 4, "CV-2": 4, "SK-1": 4, "SK-2": 2, "KT-1": 6, "KT-2": 5}
        assert audit() == []

    def receive(self, page, order, came):
        with page.expect_navigation():
            page.keyboard.press("Alt+5")
        enter(page, str(order))
        enter(page, "Receive what came")
        for code, pieces in came.items():
            scan(page, code)
            scan(page, pieces)
        expect(page.locator("#scan:focus")).to_have_value("")
        reads_well(page)
        page.keyboard.type("ok")
        enter(page)

    def count(self, page, there):
        with page.expect_navigation():
            page.keyboard.press("Alt+4")
        enter(page, "Count")
        reach(page, "A-01")
        page.keyboard.press("Space")
        enter(page, "Start")
        for code, pieces in there.items():
            scan(page, code)
            scan(page, pieces)
        expect(page.locator("main")).to_contain_text("1 piece fewer than the ledger says")
        reads_well(page)
        enter(page, f"Correct to {PIECES - 1}")
        enter(page, "Close this count")
        assert [line.difference for line in CountLine.objects.order_by("part__number")] == [0, -1]
