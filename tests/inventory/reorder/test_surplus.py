from datetime import UTC, date, datetime, timedelta

import pytest

from inventory.catalog.actions.fitments import supersede_part
from inventory.ledger.actions import log_ask, receive_stock
from inventory.reorder.actions.deliveries import Arrived, receive_delivery
from inventory.reorder.models import PlanRun, PlanStatus
from inventory.reorder.surplus import surplus_list
from tests.make import make_offer, make_part, make_plan_line, make_site, make_supplier

pytestmark = pytest.mark.django_db

TODAY = date(2026, 3, 4)


def noon(days_before):
    return datetime(2026, 3, 4, 12, tzinfo=UTC) - timedelta(days=days_before)


@pytest.fixture
def site():
    return make_site()


@pytest.fixture
def run():
    return PlanRun.objects.create(as_of=TODAY, status=PlanStatus.DONE)


@pytest.fixture
def supplier():
    return make_supplier(name="Blyth Valve Supply")


@pytest.fixture
def part(supplier):
    """Blyth takes it back for 30 days, less a tenth."""
    part = make_part()
    make_offer(supplier, part, pack_price_cents=500, returnable_days=30, return_fee_per_mille=100)
    return part


def ask(part, site, days_before):
    log_ask(part, site=site, pieces=1, by=None, key=f"a-{part.pk}", at=noon(days_before))


def delivered(part, site, supplier, *, pieces, days_before):
    receive_delivery(
        supplier,
        site=site,
        by=None,
        key=f"d-{days_before}",
        at=noon(days_before),
        lines=[Arrived(part=part, pieces=pieces, value_cents=500 * pieces)],
    )


def line_of(part, site, run, **facts):
    """Kept up to 3; one ask a year unless a test says otherwise."""
    return make_plan_line(site, None, run=run, part=part, **{"asks": 1 / 52} | facts)


class TestSurplusList:
    def test_without_a_plan_nothing_is_listed(self, site):
        assert surplus_list(site, today=TODAY).found == []

    def test_more_than_the_plan_keeps_and_a_year_uses(self, part, site, run, supplier):
        delivered(part, site, supplier, pieces=9, days_before=90)
        ask(part, site, 20)
        line_of(part, site, run, on_hand=9)
        one = surplus_list(site, today=TODAY).found[0]
        assert (one.pieces, one.value_cents, one.is_dead) == (6, 3_000, False)
        assert one.years == pytest.approx(9)

    def test_an_old_part_is_used_up_for_the_newer_one(self, part, site, run, supplier):
        newer = make_part(number="NEWER")
        supersede_part(part, newer, by=None)
        delivered(part, site, supplier, pieces=9, days_before=90)
        figures = {"superseded": True}
        line_of(part, site, run, on_hand=9, asks=0, reorder_point=-1, figures=figures)
        line_of(newer, site, run, asks=7 / 52)
        (one,) = surplus_list(site, today=TODAY).found
        assert (one.pieces, one.is_dead) == (9, True)
        ask(newer, site, 20)
        (one,) = surplus_list(site, today=TODAY).found
        assert (one.pieces, one.is_dead) == (2, False)
        assert one.years == pytest.approx(9 / 7)

    def test_what_its_own_goal_keeps_is_none_though_nobody_asks(self, part, site, run, supplier):
        delivered(part, site, supplier, pieces=9, days_before=90)
        line = line_of(part, site, run, on_hand=9, asks=0)
        assert surplus_list(site, today=TODAY).found[0].pieces == 9
        line.figures = {"goal": {"what": "at least 3 kept"}}
        line.save()
        assert surplus_list(site, today=TODAY).found[0].pieces == 6

    @pytest.mark.parametrize("facts", [{"on_hand": 3}, {"on_hand": 9, "asks": 0.2}])
    def test_what_is_kept_or_used_within_a_year_is_none(self, part, site, run, facts):
        ask(part, site, 20)
        line_of(part, site, run, **facts)
        assert surplus_list(site, today=TODAY).found == []

    def test_what_nobody_asked_for_is_surplus_to_the_last_piece(self, part, site, run, supplier):
        delivered(part, site, supplier, pieces=9, days_before=90)
        ask(part, site, 400)
        line_of(part, site, run, on_hand=9)
        one = surplus_list(site, today=TODAY).found[0]
        assert (one.pieces, one.is_dead, one.years) == (9, True, None)

    def test_the_newest_lots_go_back_while_the_supplier_takes_them(self, part, site, run, supplier):
        delivered(part, site, supplier, pieces=4, days_before=31)
        delivered(part, site, supplier, pieces=2, days_before=30)
        delivered(part, site, supplier, pieces=1, days_before=5)
        line_of(part, site, run, on_hand=7)
        one = surplus_list(site, today=TODAY).found[0]
        told = [(back.pieces, back.lot.until, back.credit_cents) for back in one.goes_back]
        assert told == [(1, date(2026, 3, 29), 450), (2, date(2026, 3, 4), 900)]
        assert one.goes_back[0].lot.supplier == "Blyth Valve Supply"

    def test_what_came_from_nobody_known_cannot_go_back(self, part, site, run):
        receive_stock(part, site=site, pieces=5, value_cents=2_500, by=None, key="r-1", at=noon(1))
        line_of(part, site, run, on_hand=5)
        assert surplus_list(site, today=TODAY).found[0].goes_back == ()

    def test_what_can_go_back_comes_first_then_the_most_money(self, part, site, run, supplier):
        dear, dearer = make_part(), make_part()
        for number, (other, cents) in enumerate(((dear, 9_000), (dearer, 90_000))):
            receive_stock(other, site=site, pieces=9, value_cents=cents, by=None, key=f"r-{number}")
            line_of(other, site, run, on_hand=9)
        delivered(part, site, supplier, pieces=9, days_before=3)
        line_of(part, site, run, on_hand=9)
        found = surplus_list(site, today=TODAY)
        assert [one.line.part for one in found.found] == [part, dearer, dear]
        assert (found.value_cents, found.credit_cents) == (103_500, 4_050)
