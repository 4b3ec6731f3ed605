from datetime import UTC, date, datetime, timedelta

import pytest

from inventory.reorder.actions.deliveries import Arrived, receive_delivery
from inventory.reorder.actions.orders import add_to_draft, send_order
from inventory.reorder.supplier_page import lots_brought, waits_chart, waits_seen, what_goes_back
from tests.make import make_offer, make_part, make_supplier

pytestmark = pytest.mark.django_db


def bring(supplier, site, *arrived, key="d-1", **how):
    return receive_delivery(supplier, site=site, key=key, lines=arrived, by=None, **how)


class TestWaitsSeen:
    def test_each_delivery_of_an_order_is_one_sample(self, supplier, site):
        lines = [
            add_to_draft(supplier, site=site, part=make_part(), pieces=2, by=None) for _ in range(2)
        ]
        for line in lines:
            make_offer(supplier, line.part)
        send_order(lines[0].order, by=None, at=datetime(2026, 3, 2, 9, tzinfo=UTC))
        for day in (9, 4):
            came = [
                Arrived(part=line.part, order_line=line, pieces=1, pack_price_cents=700)
                for line in lines
            ]
            at = datetime(2026, 3, day, 10, tzinfo=UTC)
            bring(supplier, site, *came, key=f"d-{day}", at=at)
        assert waits_seen(supplier) == [2, 7]
        assert waits_seen(make_supplier()) == []


class TestWaitsChart:
    def test_counts_deliveries_by_days(self):
        chart = waits_chart([1, 2, 2, 45])
        assert chart.description == "4 deliveries; half of them took 2 days or fewer."
        assert (chart.bars[0].label, chart.bars[1].value, chart.bars[-1].label) == ("1", 2, "30+")


class TestLotsBrought:
    def test_are_of_one_supplier(self, supplier, site):
        bring(supplier, site, Arrived(part=make_part(), pieces=1, value_cents=700))
        assert lots_brought(supplier).count() == 1
        assert not lots_brought(make_supplier()).exists()


class TestWhatGoesBack:
    def test_says_until_when_and_for_what(self, supplier, site):
        part = make_part()
        make_offer(supplier, part, returnable_days=30, return_fee_per_mille=150)
        bring(supplier, site, Arrived(part=part, pieces=4, value_cents=4_001))
        one = what_goes_back(supplier, site)[0]
        assert one.until == site.today() + timedelta(days=30)
        # 4001 × 0.85 = 3400.85, and no part of a cent is promised.
        assert (one.credit_cents, one.fee_percent) == (3_400, "15")

    def test_what_is_over_or_was_never_returnable_stays(self, supplier, site):
        part = make_part()
        make_offer(supplier, part, returnable_days=30)
        long_ago = datetime(2024, 3, 2, 9, tzinfo=UTC)
        bring(supplier, site, Arrived(part=part, pieces=1, value_cents=700), at=long_ago)
        bring(supplier, site, Arrived(part=make_part(), pieces=1, value_cents=700), key="d-2")
        assert what_goes_back(supplier, site) == []

    def test_terms_are_those_of_the_day_it_came(self, supplier, site):
        part = make_part()
        ended = site.today() - timedelta(days=1)
        make_offer(supplier, part, returnable_days=60, valid_to=ended)
        make_offer(supplier, part, returnable_days=0, valid_from=site.today())
        at = datetime.combine(ended, datetime.min.time(), tzinfo=UTC)
        bring(supplier, site, Arrived(part=part, pieces=1, value_cents=700), at=at)
        assert what_goes_back(supplier, site)[0].until == ended + timedelta(days=60)

    def test_a_wrong_part_comes_first(self, supplier, site):
        part = make_part()
        make_offer(supplier, part, returnable_days=30, valid_from=date(2020, 1, 1))
        bring(supplier, site, Arrived(part=part, pieces=1, value_cents=700))
        wrong = Arrived(part=make_part(), pieces=1, value_cents=0, goes_back=True)
        bring(supplier, site, wrong, key="d-2")
        assert [one.until is None for one in what_goes_back(supplier, site)] == [True, False]
