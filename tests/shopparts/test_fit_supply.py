from datetime import UTC, datetime

import pytest

from inventory.ledger.actions import hold_parts, receive_stock
from inventory.ledger.models import Condition
from inventory.reorder.models import Order, OrderLine
from shopparts.fit_supply import Supply, supply_of
from tests.make import make_bin, make_part, make_site, make_supplier

pytestmark = pytest.mark.django_db
SENT = {"sent": datetime(2026, 3, 2, tzinfo=UTC), "draft": None}


@pytest.fixture
def here():
    return make_site(name="Mill Road", code="A")


@pytest.fixture
def part():
    return make_part()


def stock(part, site, pieces, key, **fields):
    receive_stock(part, site=site, pieces=pieces, value_cents=100, by=None, key=key, **fields)


class TestSupplyOf:
    def test_counts_what_anybody_may_take_and_names_its_bins(self, part, here):
        stock(part, here, 3, "1", bin=make_bin(here, code="A3"))
        stock(part, here, 1, "2", bin=make_bin(here, code="B1"))
        hold_parts(part, site=here, pieces=1, job_key="J1", by=None, key="h")
        supply = supply_of([part.pk], here)[part.pk]
        assert (supply.here, supply.bins) == (3, ["A3", "B1"])

    def test_opened_and_claimed_pieces_are_not_for_the_taking(self, part, here):
        stock(part, here, 2, "1", condition=Condition.CLAIM, bin=make_bin(here, code="C1"))
        assert supply_of([part.pk], here).get(part.pk, Supply()) == Supply()

    def test_other_sites_are_named_with_what_they_have(self, part, here):
        for name, code, pieces in (("Harbour", "B", 2), ("North Gate", "C", 5)):
            stock(part, make_site(name=name, code=code), pieces, code)
        supply = supply_of([part.pk], here)[part.pk]
        assert (supply.here, supply.elsewhere) == (0, 7)
        assert supply.sites == ["2 at Harbour", "5 at North Gate"]

    def test_what_is_on_order_for_here_is_arriving(self, part, here):
        supplier, elsewhere = make_supplier(), make_site()
        for key, site, status in (
            ("1", here, "sent"),
            ("2", here, "draft"),
            ("3", elsewhere, "sent"),
        ):
            order = Order.objects.create(
                key=key, supplier=supplier, site=site, status=status, sent_at=SENT[status]
            )
            OrderLine.objects.create(
                order=order, part=part, line=1, packs=2, pack=5, pieces_delivered=3
            )
        assert supply_of([part.pk], here)[part.pk].arriving == 7

    def test_costs_the_same_for_many_parts(self, here, django_assert_num_queries):
        parts = []
        for number in range(12):
            parts.append(make_part())
            stock(parts[-1], here, 1, f"{number}", bin=make_bin(here))
            with django_assert_num_queries(3):
                supply_of([part.pk for part in parts], here)
