from datetime import UTC, date, datetime, timedelta

import pytest

from inventory.catalog.models import Supersession
from inventory.ledger.actions import issue_stock, log_ask, receive_stock, settle_ask
from inventory.ledger.models import How
from inventory.reorder.actions.deliveries import Arrived, receive_delivery
from inventory.reorder.actions.orders import add_to_draft, send_order
from inventory.reorder.inputs.one_part import WEEKS_TOLD, part_past
from inventory.reorder.models import PlanRun, PlanStatus
from tests.make import make_offer, make_part, make_plan_line, make_site, make_supplier

pytestmark = pytest.mark.django_db

AS_OF = date(2026, 3, 4)


@pytest.fixture
def line():
    run = PlanRun.objects.create(as_of=AS_OF, status=PlanStatus.DONE)
    return make_plan_line(make_site(), make_supplier(), run=run, part=make_part())


def noon(days_before):
    return datetime(2026, 3, 4, 12, tzinfo=UTC) - timedelta(days=days_before)


def ask(line, days_before, pieces=1, **facts):
    key = f"a-{days_before}-{pieces}"
    return log_ask(
        line.part, site=line.site, pieces=pieces, by=None, key=key, at=noon(days_before), **facts
    )


def receive(line, days_before, pieces):
    receive_stock(
        line.part,
        site=line.site,
        pieces=pieces,
        value_cents=100 * pieces,
        by=None,
        key=f"r-{days_before}",
        at=noon(days_before),
    )


def issue(line, days_before, pieces):
    issue_stock(
        line.part,
        site=line.site,
        pieces=pieces,
        by=None,
        key=f"i-{days_before}",
        at=noon(days_before),
    )


class TestPartPast:
    def test_the_last_week_ends_with_the_day_of_the_plan(self, line):
        past = part_past(line)
        assert len(past.weeks) == WEEKS_TOLD
        assert (past.weeks[-1].first, past.last) == (date(2026, 2, 26), AS_OF)

    def test_counts_asks_and_pieces_by_week(self, line):
        ask(line, 0), ask(line, 6, 4), ask(line, 7, 2)
        weeks = part_past(line).weeks
        assert [(week.asks, week.pieces) for week in weeks[-2:]] == [(1, 2), (2, 5)]
        assert part_past(line).asks_by_size == {1: 1, 2: 1, 4: 1}

    def test_the_past_of_what_it_superseded_is_its_own(self, line):
        old = make_part(number="QX-0")
        Supersession.objects.create(old=old, new=line.part)
        log_ask(old, site=line.site, pieces=3, by=None, key="old", at=noon(3))
        receive_stock(
            old, site=line.site, pieces=2, value_cents=10, by=None, key="r-old", at=noon(900)
        )
        past = part_past(line)
        assert past.numbers == (line.part.number, "QX-0")
        assert past.asks_by_size == {3: 1}
        assert past.on_hand == ((past.first, 2),)

    def test_what_was_declined_is_no_demand(self, line):
        settle_ask(ask(line, 2, 4), how=How.DECLINED, pieces=3)
        settle_ask(ask(line, 3, 1), how=How.WITHDRAWN, pieces=1)
        ask(line, 4, wish=True)
        assert part_past(line).asks_by_size == {1: 1}

    def test_days_out_are_those_that_opened_empty(self, line):
        # Received at noon of 26 February, 6 days before; gone on 1 March, 3 days before. Empty at
        # the opening of 26 February itself and of 2, 3 and 4 March.
        receive(line, 6, 2)
        issue(line, 3, 2)
        weeks = part_past(line).weeks
        assert (weeks[-1].days_out, weeks[-2].days_out) == (4, 7)

    def test_stock_from_before_the_year_counts(self, line):
        receive(line, 800, 3)
        past = part_past(line)
        assert past.on_hand == ((past.first, 3),)
        assert {week.days_out for week in past.weeks} == {0}

    def test_stock_is_told_where_it_changed(self, line):
        receive(line, 20, 3)
        issue(line, 5, 1)
        assert part_past(line).on_hand[1:] == ((date(2026, 2, 12), 3), (date(2026, 2, 27), 2))

    def test_of_two_plans_of_a_day_the_last_one_holds(self, line):
        for days, point in ((30, 1), (30, 4)):
            run = PlanRun.objects.create(as_of=AS_OF - timedelta(days=days), status=PlanStatus.DONE)
            make_plan_line(line.site, None, run=run, part=line.part, reorder_point=point)
        assert part_past(line).reorder_points == ((date(2026, 2, 2), 4), (AS_OF, 2))

    def test_deliveries_are_those_of_the_supplier(self, line):
        for supplier, days in ((line.supplier, 3), (make_supplier(), 9)):
            make_offer(supplier, line.part)
            order = add_to_draft(supplier, site=line.site, part=line.part, pieces=1, by=None).order
            send_order(order, by=None, at=noon(30))
            arrived = [Arrived(part=line.part, pieces=1, order_line=order.lines.get())]
            receive_delivery(
                supplier,
                site=line.site,
                by=None,
                lines=arrived,
                key=f"d-{days}",
                at=noon(30 - days),
            )
        assert part_past(line).deliveries_by_days == {3: 1}
