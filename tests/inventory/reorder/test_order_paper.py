from datetime import UTC, date, datetime

import pytest

from inventory.reorder.actions.orders import add_to_draft, send_order
from inventory.reorder.order_paper import order_paper
from inventory.shop.models import ShopSettings
from tests.make import make_offer, make_part, make_site, make_supplier

pytestmark = pytest.mark.django_db


class TestOrderPaper:
    def order(self, supplier, **offer):
        part = make_part(number="QX-4410")
        make_offer(supplier, part, pack=4, pack_price_cents=1_037, supplier_code="B-7", **offer)
        site = make_site()
        return add_to_draft(supplier, site=site, part=part, pieces=8, by=None, job_key="J-7").order

    def test_names_the_supplier_s_number_and_the_job(self):
        line = order_paper(self.order(make_supplier()), ShopSettings.load()).lines[0]
        assert (line.code, line.number, line.pieces) == ("B-7", "QX-4410", 8)
        assert (line.value_cents, line.mark) == (2_074, "mark it J-7")

    def test_takes_the_number_that_held_when_it_was_sent(self):
        supplier = make_supplier()
        order = self.order(supplier, valid_to=date(2026, 3, 31))
        make_offer(
            supplier,
            order.lines.get().part,
            supplier_code="B-8",
            valid_from=date(2026, 4, 1),
        )
        order = send_order(order, by=None, at=datetime(2026, 3, 2, 9, tzinfo=UTC))
        assert order_paper(order, ShopSettings.load()).lines[0].code == "B-7"

    @pytest.mark.parametrize(("free_from", "freight"), [(None, 900), (2_074, 0), (2_075, 900)])
    def test_a_large_order_comes_free(self, free_from, freight):
        supplier = make_supplier(freight_cents=900, freight_free_from_cents=free_from)
        paper = order_paper(self.order(supplier), ShopSettings.load())
        assert paper.freight_cents == freight

    def test_says_that_it_is_a_draft_and_what_has_no_price(self):
        order = self.order(make_supplier())
        order.lines.update(pack_price_cents=None)
        paper = order_paper(order, ShopSettings.load())
        assert paper.title == f"Order {order} (draft, not sent)"
        assert (paper.without_price, paper.total_cents) == (1, 0)
