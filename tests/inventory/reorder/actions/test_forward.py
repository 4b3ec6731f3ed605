import pytest

from inventory.reorder.actions.forward import draft_with_top_ups
from inventory.reorder.top_ups import top_up_of
from tests.make import make_offer, make_part, make_plan_line, make_site, make_supplier

pytestmark = pytest.mark.django_db


class TestDraftWithTopUps:
    def test_drafts_both_and_twice_is_once(self):
        site, supplier = make_site(), make_supplier()
        facts = {"pack_price_cents": 500, "pack": 2, "order_quantity": 4}
        due = make_plan_line(site, supplier, suggested_packs=1, **facts)
        early = make_plan_line(site, supplier, on_hand=4, part=make_part(), **facts)
        make_offer(supplier, early.part, pack=2, pack_price_cents=500)
        brought = top_up_of(early, 0.25)
        assert brought
        for _ in range(2):
            order = draft_with_top_ups([due], [brought], by=None)
        told = [(line.part, line.pieces, line.suggested_packs) for line in order.lines.all()]
        assert told == [(due.part, 2, 1), (early.part, 4, None)]
