"""A delivery received with nothing but a scanner, which types a code and presses Enter."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from playwright.sync_api import expect

from inventory.ledger.models import Shelf
from inventory.reorder.actions.orders import add_to_draft, send_order
from inventory.reorder.models import OrderStatus
from tests.make import make_offer, make_part, make_site, make_supplier

pytestmark = pytest.mark.browser

LINES, SHORT = 12, 5


@pytest.fixture
def order(transactional_db):
    site, supplier = make_site(name="Quay"), make_supplier(name="Corrow Valve Supply")
    for number in range(LINES):
        part = make_part(number=f"BX-{number:03}")
        make_offer(supplier, part)
        line = add_to_draft(supplier, site=site, part=part, pieces=2 + number, by=None)
    return send_order(line.order, by=None)


class Wedge:
    """Types into whatever has the focus; a code and its Enter are one key sequence."""

    def __init__(self, page):
        self.page, self.sequences = page, 0

    def scan(self, code):
        self.sequences += 1
        # A person is never as quick as this: the next page has to have its focus.
        expect(self.page.locator("#scan:focus")).to_have_value("")
        self.page.keyboard.type(code)
        with self.page.expect_response(lambda answer: answer.request.method == "POST"):
            self.page.keyboard.press("Enter")


class TestReceiving:
    def test_twelve_lines_one_wrong_and_one_short_by_keys_alone(self, order, signed_in):
        make_part(number="WRONG-1")
        page = signed_in("parts_manager", home_site=order.site)
        page.set_viewport_size({"width": 360, "height": 740})
        page.goto(page.url.rstrip("/") + reverse("inventory:order_receive", args=[order.pk]))
        wedge = Wedge(page)
        for number in range(LINES):
            wedge.scan(f"BX-{number:03}")
            wedge.scan(str(2 + number - (number == SHORT)))
        wedge.scan("WRONG-1")
        page.get_by_text("WRONG-1 was not ordered").wait_for()
        for scheme in ("light", "dark"):
            page.emulate_media(color_scheme=scheme)
            results = Axe().run(page)
            assert results.violations_count == 0, results.generate_report()
        assert page.evaluate("document.documentElement.scrollWidth") <= 360
        assert page.get_by_role("button", name="Receive 90 pieces").is_visible()
        wedge.scan("ok")
        assert wedge.sequences < 40
        order.refresh_from_db()
        assert order.status == OrderStatus.PART_DELIVERED
        assert sum(shelf.on_hand for shelf in Shelf.objects.all()) == 90
        assert Shelf.objects.get(part__number="WRONG-1").usable == 0
