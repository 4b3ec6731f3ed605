from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest

from inventory.ledger.actions import issue_stock, log_ask, receive_stock, settle_ask
from inventory.ledger.models import How
from inventory.reorder.actions.deliveries import Arrived, receive_delivery
from inventory.reorder.actions.orders import add_to_draft, send_order
from inventory.reorder.figures import plan_figures
from inventory.reorder.inputs import plan_inputs
from inventory.reorder.inputs.track import on_hand_by_day, past_asks
from inventory.reorder.track_record import planned, track_record
from inventory.shop.models import ShopSettings
from inventory.templatetags.charts import svg
from tests.make import make_offer, make_part, make_site, make_supplier

pytestmark = pytest.mark.django_db

TODAY = date(2026, 3, 4)
WEEKS = 30


def noon(days_before):
    return datetime(2026, 3, 4, 12, tzinfo=UTC) - timedelta(days=days_before)


def ask(part, site, days_before, **facts):
    key = f"a-{part.pk}-{days_before}"
    return log_ask(part, site=site, pieces=1, by=None, key=key, at=noon(days_before), **facts)


@pytest.fixture
def site():
    return make_site(asks_logged_from=date(2024, 1, 1))


@pytest.fixture
def part():
    part = make_part(number="QX-4410", list_price_cents=6_000)
    make_offer(make_supplier(), part, pack_price_cents=2_000)
    return part


@pytest.fixture
def lived(part, site):
    """An ask a week, every one of them lost: the shop kept none."""
    for week in range(WEEKS):
        settle_ask(ask(part, site, 1 + 7 * week), how=How.LOST, pieces=1)


def record(site, today=TODAY):
    return track_record(site, ShopSettings.load(), today=today)


class TestTrackRecord:
    def test_keeping_the_part_fills_what_was_lost(self, site, lived):
        whole = record(site).whole
        assert whole.filled == 0
        assert whole.filled_by_plan > 0.8 * whole.asks > 10
        assert whole.cents == 0

    def test_months_add_up_to_the_whole(self, site, lived):
        told = record(site)
        assert sum(month.asks for month in told.months) == told.whole.asks
        assert sum(month.filled_by_plan for month in told.months) == told.whole.filled_by_plan

    def test_stock_that_lay_there_counts_for_both(self, part, site, lived):
        receive_stock(
            part, site=site, pieces=50, value_cents=100_000, by=None, key="r", at=noon(500)
        )
        told = record(site)
        assert told.whole.filled_by_plan == told.whole.asks
        assert told.misses == []
        assert told.whole.cents == 100_000 > told.whole.cents_by_plan

    def test_opens_the_asks_it_would_have_missed(self, part, site, lived):
        for day in range(3):
            log_ask(part, site=site, pieces=30, by=None, key=f"big-{day}", at=noon(10 + day))
        (miss,) = record(site).misses
        assert (miss.part.number, miss.missed_in_fact) == ("QX-4410", miss.asks)
        assert {one.ask.pieces for one in miss.missed} >= {30}
        assert all(one.had < one.ask.pieces for one in miss.missed)

    def test_plans_as_each_day_would_have_by_itself(self, part, site, lived):
        site.asks_logged_from = None
        site.save()
        receive_stock(part, site=site, pieces=5, value_cents=100, by=None, key="r", at=noon(150))
        first = TODAY - timedelta(weeks=17)
        _, rules, _ = planned(site, first, TODAY - timedelta(days=1), [])
        alone = plan_figures(plan_inputs(first + timedelta(weeks=8)))
        assert rules[8].reorder_point.tolist() == alone.policy.reorder_point.tolist()

    def test_a_plan_of_the_past_knows_no_delivery_that_came_later(self, part, site, lived):
        """Six orders that took sixty days each came in half-way through the weeks played."""
        first, half_way = TODAY - timedelta(weeks=17), TODAY - timedelta(weeks=9)
        supplier = part.offers.get().supplier
        before = plan_inputs(first).interval.mean_days
        for number in range(6):
            line = add_to_draft(supplier, site=site, part=part, pieces=1, by=None)
            send_order(line.order, by=None, at=noon(123 + number))
            receive_delivery(
                supplier,
                site=site,
                key=f"d-{number}",
                lines=[Arrived(part=part, order_line=line, pieces=1)],
                by=None,
                at=noon(63 + number),
            )
        assert plan_inputs(first).interval.mean_days == pytest.approx(before)
        assert (plan_inputs(half_way).interval.mean_days > before + 20).any()
        _, rules, _ = planned(site, first, TODAY - timedelta(days=1), [])
        points = [rule.reorder_point.max() for rule in rules]
        assert max(points[:8]) < min(points[8:])

    def test_the_same_past_is_told_the_same_way(self, site, lived):
        assert record(site).whole == record(site).whole

    def test_every_picture_can_be_drawn(self, site, lived):
        assert all(str(svg(drawn)).startswith("<svg") for drawn in record(site).pictures)

    def test_is_too_early_without_months_of_asks(self, part, site):
        assert record(site) is None
        ask(part, site, 100)
        assert record(site) is None


class TestPastAsks:
    def test_tells_what_came_from_the_shelf_and_leaves_declined_out(self, part, site):
        settle_ask(ask(part, site, 3), how=How.DECLINED, pieces=1)
        settle_ask(ask(part, site, 2), how=How.SHELF, pieces=1)
        settle_ask(ask(part, site, 1), how=How.BOUGHT_IN, pieces=1)
        found = past_asks(site, TODAY - timedelta(days=9), TODAY)
        assert [(one.pieces, one.from_shelf, one.was_filled) for one in found] == [
            (1, 1, True),
            (1, 0, False),
        ]


class TestOnHandByDay:
    def test_begins_with_what_lay_there_and_follows_the_days(self, part, site):
        receive_stock(part, site=site, pieces=5, value_cents=10, by=None, key="r", at=noon(50))
        issue_stock(part, site=site, pieces=2, by=None, key="i", at=noon(1))
        first = TODAY - timedelta(days=2)
        found = on_hand_by_day(site, np.array([part.pk]), first, TODAY)
        assert found.tolist() == [[5, 5, 3, 3]]
