import math
from datetime import UTC, date, datetime, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.catalog.models import Supersession
from inventory.ledger.actions import (
    hold_parts,
    log_ask,
    receive_stock,
    receive_transfer,
    send_transfer,
    settle_ask,
)
from inventory.ledger.models import How
from inventory.reorder.actions.deliveries import Arrived, receive_delivery
from inventory.reorder.actions.orders import add_to_draft, draft_order, send_order
from inventory.reorder.actions.plan import NEVER_ASKED, NOBODY_OFFERS, RUNS_KEPT, run_plan
from inventory.reorder.inputs.superseded import read_superseded
from inventory.reorder.models import ExpectedAsk, PlanLine, PlanRun, PlanStatus
from inventory.reorder.why import why
from inventory.shop.models import ShopSettings, SiteKind
from tests.make import (
    make_application,
    make_fitment,
    make_offer,
    make_part,
    make_site,
    make_supplier,
)

pytestmark = pytest.mark.django_db

AS_OF = date(2026, 3, 4)
LONG_AGO = date(2020, 1, 1)


@pytest.fixture
def site():
    return make_site(asks_logged_from=LONG_AGO)


@pytest.fixture
def supplier():
    return make_supplier(code="BLY", stated_lead_days=3)


@pytest.fixture
def part(supplier):
    part = make_part(number="QX-4410", list_price_cents=6_000)
    make_offer(supplier, part, pack_price_cents=2_137)
    return part


def noon(days_before):
    return datetime(2026, 3, 4, 12, tzinfo=UTC) - timedelta(days=days_before)


def ask(part, site, days_before, pieces=1, **facts):
    key = f"a-{part.pk}-{days_before}-{pieces}"
    return log_ask(part, site=site, pieces=pieces, by=None, key=key, at=noon(days_before), **facts)


def planned(part):
    run = run_plan(as_of=AS_OF, by=None)
    assert run.status == PlanStatus.DONE
    line = PlanLine.objects.select_related("part", "site", "supplier", "run").get(
        run=run, part=part
    )
    told = why(line, ShopSettings.load())
    assert len(told.sentences) == 3
    figures = [line.asks, line.size_mean, line.lead_days, line.job_fill, line.mean_on_hand]
    assert all(figure is not None and math.isfinite(figure) for figure in figures)
    return line


class TestRunPlan:
    def test_suggests_what_lifts_the_position_above_the_reorder_point(self, part, site):
        for days in range(0, 156 * 7, 7):
            ask(part, site, days)
        receive_stock(part, site=site, pieces=1, value_cents=2_137, by=None, key="r-1")
        line = planned(part)
        assert (line.on_hand, line.position) == (1, 1)
        assert line.reorder_point >= 1
        assert line.position + line.suggested_pieces > line.reorder_point
        assert line.job_fill >= 0.95
        assert line.asks == pytest.approx(1, rel=0.1)
        assert line.run.words == ("1 shelf at 1 site looked at, 1 line to order from 1 supplier.")

    def test_keeps_in_how_many_jobs_everything_is_there(self, part, site):
        rare = make_part()
        for days in range(0, 364, 7):
            ask(part, site, days, job_key=f"J-{days}")
        ask(rare, site, 14, job_key="J-14")
        line = planned(part)
        kept = line.run.figures["whole_jobs"][str(site.pk)]
        assert (kept["jobs"], kept["kept_jobs"]) == (52, 51)
        assert kept["fill"] == pytest.approx(line.job_fill * 51 / 52, abs=1e-6)
        assert kept["waits"][1] == [rare.pk, 1, pytest.approx(line.job_fill, abs=1e-3)]
        assert kept["common"][0][2] == [[part.pk, 1]]

    def test_a_universal_part_is_planned_for_those_that_are_out(self, part, site, supplier):
        universal, application = make_part(universal=True), make_application()
        make_offer(supplier, universal, pack_price_cents=2_000)
        for fitted in (part, universal):
            make_fitment(application, fitted)
        for days in range(0, 364, 7):
            ask(part, site, days)
        ask(universal, site, 20)
        line = planned(universal)
        specific = line.run.lines.get(part=part)
        missed = specific.asks * (1 - specific.job_fill)
        assert line.sent_on == pytest.approx(missed / 2, rel=1e-6)
        assert specific.sent_on == 0
        assert "stand in for parts that are out" in why(line, ShopSettings.load()).sentences[0]

    def test_a_plan_becomes_a_draft_and_then_nothing_more_is_suggested(self, part, site):
        for days in range(0, 700, 7):
            ask(part, site, days)
        order = draft_order([planned(part)], by=None)
        send_order(order, by=None)
        line = planned(part)
        assert line.on_order == order.lines.get().pieces
        assert line.suggested_packs == 0

    def test_what_is_held_does_not_count_as_there(self, part, site):
        receive_stock(part, site=site, pieces=3, value_cents=6_411, by=None, key="r-1")
        hold_parts(part, site=site, pieces=2, job_key="J-1", by=None, key="h-1")
        line = planned(part)
        assert (line.on_hand, line.held, line.position) == (3, 2, 1)

    def test_a_special_order_on_the_way_leaves_the_position_alone(self, part, site, supplier):
        special = add_to_draft(supplier, site=site, part=part, pieces=2, job_key="J-1", by=None)
        send_order(special.order, by=None)
        line = planned(part)
        assert (line.on_order, line.owed, line.position) == (2, 2, 0)

    def test_what_is_on_the_road_to_a_site_is_coming(self, part, site):
        van = make_site(name="Service van", kind=SiteKind.VAN)
        make_site(name="On the road", kind=SiteKind.TRANSIT)
        receive_stock(part, site=site, pieces=5, value_cents=500, by=None, key="r-1")
        sent = send_transfer(part, from_site=site, to_site=van, pieces=2, by=None, key="t-1")
        run_plan(as_of=AS_OF, by=None)
        at_van = PlanLine.objects.get(site=van)
        assert (at_van.on_hand, at_van.on_order, at_van.position) == (0, 2, 2)
        receive_transfer(sent, by=None, key="t-2")
        run = run_plan(as_of=AS_OF, by=None)
        at_van = PlanLine.objects.get(site=van, run=run)
        assert (at_van.on_hand, at_van.on_order, at_van.position) == (2, 0, 2)

    def test_declined_asks_and_wishes_are_no_demand(self, part, site):
        for days in range(0, 70, 7):
            settle_ask(ask(part, site, days), how=How.DECLINED, pieces=1)
            ask(part, site, days + 1, wish=True)
        receive_stock(part, site=site, pieces=1, value_cents=2_137, by=None, key="r-1")
        assert planned(part).figures["asks_seen"] == 0

    def test_an_ask_declined_in_part_counts_for_the_rest(self, part, site):
        settle_ask(ask(part, site, 10, pieces=4), how=How.WITHDRAWN, pieces=3)
        line = planned(part)
        assert line.figures["asks_seen"] == 1
        assert line.size_mean == pytest.approx(1)

    def test_lost_asks_are_demand(self, part, site):
        settle_ask(ask(part, site, 10), how=How.LOST, pieces=1)
        assert planned(part).figures["asks_seen"] == 1

    def test_deliveries_tell_the_lead_time(self, part, site, supplier):
        stated = planned_with_wait(part, site, supplier, days=3)
        slow = planned_with_wait(part, site, supplier, days=20)
        assert slow.lead_days > stated.lead_days + 5

    def test_what_the_vehicles_promise_counts_where_nobody_asked(self, part, site):
        monday = AS_OF - timedelta(days=AS_OF.weekday())
        ExpectedAsk.objects.bulk_create(
            ExpectedAsk(
                part=part, site=site, week=monday + timedelta(weeks=n), mean=1.0, variance=1.5
            )
            for n in range(26)
        )
        site.asks_logged_from = AS_OF
        site.save()
        line = planned(part)
        assert line.asks == pytest.approx(1, rel=0.05)
        assert line.figures["expected"] == pytest.approx(26)

    def test_the_old_part_hands_its_demand_on_and_is_used_up_first(self, part, site):
        old = make_part(number="QX-4400")
        Supersession.objects.create(old=old, new=part, since=LONG_AGO)
        for days in range(0, 700, 7):
            ask(old, site, days)
        receive_stock(old, site=site, pieces=40, value_cents=100, by=None, key="r-1")
        hold_parts(old, site=site, pieces=1, job_key="J-1", by=None, key="h-1")
        line = planned(part)
        assert (line.on_hand, line.older, line.position) == (0, 39, 39)
        assert (line.figures["asks_seen"], line.suggested_packs) == (100, 0)
        assert line.words == "Use up 39 pieces of QX-4400 first."
        before = planned(old)
        assert (before.reorder_point, before.suggested_packs) == (-1, 0)
        assert before.words == "Superseded by QX-4410: use it up, buy no more."

    def test_a_supersession_to_come_changes_nothing_yet(self, part, site):
        old = make_part(number="QX-4400")
        Supersession.objects.create(old=old, new=part, since=date(2026, 4, 1))
        ask(old, site, 7)
        assert planned(old).figures["asks_seen"] == 1

    def test_chains_lead_to_the_newest_and_rings_nowhere(self, part, site):
        first, second = make_part(), make_part()
        Supersession.objects.create(old=first, new=second)
        Supersession.objects.create(old=second, new=part)
        one, other = make_part(), make_part()
        Supersession.objects.create(old=one, new=other)
        Supersession.objects.create(old=other, new=one)
        found = read_superseded(AS_OF)
        assert found.newest == {first.pk: part.pk, second.pk: part.pk}

    def test_says_when_the_last_offer_ends(self, part, site):
        part.offers.update(valid_to=date(2026, 4, 30))
        ask(part, site, 7)
        assert planned(part).words == (
            "Nobody offers it after 2026-04-30: buy what is still needed by then."
        )

    def test_an_offer_that_follows_is_no_end(self, part, site, supplier):
        part.offers.update(valid_to=date(2026, 4, 30))
        make_offer(supplier, part, valid_from=date(2026, 5, 1))
        ask(part, site, 7)
        assert "Nobody offers" not in planned(part).words

    def test_costs_the_same_number_of_queries_for_many_parts(self, site, supplier):
        ShopSettings.load()

        def queries(parts):
            for _ in range(parts):
                part = make_part()
                make_offer(supplier, part)
                ask(part, site, 10)
            with CaptureQueriesContext(
                connection,
            ) as found:
                run_plan(as_of=AS_OF, by=None)
            return len(found)

        assert queries(2) == queries(20)

    def test_keeps_the_last_runs(self, site, part):
        receive_stock(part, site=site, pieces=1, value_cents=2_137, by=None, key="r-1")
        PlanRun.objects.bulk_create(
            PlanRun(as_of=AS_OF, status=PlanStatus.DONE, asked_at=noon(n + 1))
            for n in range(RUNS_KEPT + 5)
        )
        run_plan(as_of=AS_OF, by=None)
        assert PlanRun.objects.count() == RUNS_KEPT

    def test_a_run_that_fails_says_so_and_leaves_no_lines(self, part, site):
        ask(part, site, 10)
        ShopSettings.objects.create(pk=1, service_target_percent=100)
        with pytest.raises(ValueError, match="service target must be between 0 and 1"):
            run_plan(as_of=AS_OF, by=None)
        run = PlanRun.objects.get()
        assert run.status == PlanStatus.FAILED
        assert run.words == (
            "The plan could not be made; the log says why. Plan again once that is mended."
        )
        assert not PlanLine.objects.exists()


def planned_with_wait(part, site, supplier, *, days):
    for n in range(6):
        line = add_to_draft(supplier, site=site, part=part, pieces=1, by=None)
        send_order(line.order, by=None, at=noon(100 + n))
        receive_delivery(
            supplier,
            site=site,
            key=f"d-{days}-{n}",
            lines=[Arrived(part=part, order_line=line, pieces=1)],
            by=None,
            at=noon(100 + n - days),
        )
    return planned(part)


class TestSaneLines:
    """Whatever a shop's records hold, a plan gives figures and a sentence."""

    def test_an_empty_shop(self):
        make_site()
        run = run_plan(as_of=AS_OF, by=None)
        assert run.words == ("0 shelves at 0 sites looked at, 0 lines to order from 0 suppliers.")

    def test_no_usage_at_all(self, part, site):
        receive_stock(part, site=site, pieces=1, value_cents=2_137, by=None, key="r-1")
        line = planned(part)
        assert (line.suggested_packs, line.words) == (0, NEVER_ASKED)
        assert line.is_bought_when_asked

    def test_one_ask_ever(self, part, site):
        ask(part, site, 400)
        assert planned(part).asks < 0.1

    def test_all_asks_on_one_day(self, part, site):
        for n in range(1, 30):
            log_ask(part, site=site, pieces=1, by=None, key=f"a-{n}", at=noon(30))
        assert planned(part).asks < 1

    def test_no_supplier(self, site):
        part = make_part()
        for days in range(0, 700, 7):
            ask(part, site, days)
        line = planned(part)
        assert (line.supplier, line.words, line.pack_price_cents) == (None, NOBODY_OFFERS, None)
        assert line.suggested_pieces > 0

    def test_an_offer_at_no_price(self, site, supplier):
        part = make_part()
        make_offer(supplier, part, pack_price_cents=0)
        ask(part, site, 10)
        assert planned(part).pack_price_cents == 0

    def test_a_lead_time_of_nothing(self, site):
        supplier, part = make_supplier(stated_lead_days=0, order_days="1234567"), make_part()
        make_offer(supplier, part)
        ask(part, site, 10)
        assert planned(part).lead_days < 1

    def test_forty_thousand_pieces_a_week(self, part, site):
        for days in range(0, 140, 7):
            ask(part, site, days, pieces=40_000)
        line = planned(part)
        assert line.asks * line.size_mean > 5_000
        assert line.suggested_pieces > line.reorder_point > 1_000

    def test_a_part_that_is_not_counted_is_not_planned(self, site):
        part = make_part("cap", counted="not")
        ask(part, site, 10)
        run_plan(as_of=AS_OF, by=None)
        assert not PlanLine.objects.exists()
