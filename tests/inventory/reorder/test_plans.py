import re
from datetime import UTC, date, datetime, time, timedelta

import pytest
from django.utils import timezone

from inventory.ledger.actions import log_ask, receive_stock
from inventory.reorder.actions.orders import add_to_draft, send_order
from inventory.reorder.actions.plan import run_plan
from inventory.reorder.models import Order
from tests.inventory.reorder.pages import page
from tests.make import make_offer, make_part, make_plan_line, make_site, make_supplier

pytestmark = pytest.mark.django_db


def noon(day):
    return datetime(2026, 2, day, 12, tzinfo=UTC)


class TestPlanDetail:
    def test_says_how_many_lines_from_how_many_suppliers(self, manager, plan_line):
        text = page(manager, "/plan/")
        assert "Order 1 line from 1 supplier before" in text
        assert "12 (3 × 4)" in text
        assert "31.11" in text

    def test_tells_the_last_minute_by_the_clock_of_the_site(
        self, manager, plan_line, site, supplier
    ):
        site.zone, supplier.cut_off = "America/Chicago", time(12, 0)
        site.save()
        supplier.save()
        text = page(manager, "/plan/")
        assert re.search(r"from 1 supplier before [A-Z]\w+day 12:00<", text)
        assert re.search(r"Leaves [A-Z]\w+day 12:00\.", text)

    def test_suggests_nothing_anew_that_was_sent_since(self, manager, plan_line, supplier):
        manager.post(f"/suppliers/{supplier.pk}/draft/")
        assert "Order 1 line from 1 supplier" in page(manager, "/plan/")
        send_order(Order.objects.get(), by=None)
        assert "Nothing to order for Quay Street" in page(manager, "/plan/")
        assert "QX-4410" not in page(manager, "/plan/parts/?show=order")
        answer = manager.post(f"/suppliers/{supplier.pk}/draft/", follow=True)
        assert (
            "Nothing of this plan is left to order from Blyth Valve Supply; plan again to see "
            "what is new."
        ) in answer.content.decode()
        assert Order.objects.count() == 1

    def test_without_a_plan_offers_one(self, manager):
        assert "Nothing is planned yet" in page(manager, "/plan/")

    def test_a_plan_with_nothing_to_order_says_so(self, manager, site, run):
        make_plan_line(site, None, run=run)
        assert "Nothing to order for Quay Street" in page(manager, "/plan/")

    def test_says_what_is_missing_to_free_freight(self, manager, plan_line, supplier):
        supplier.freight_cents, supplier.freight_free_from_cents = 900, 5_000
        supplier.save()
        assert "$18.89 more and it is free" in page(manager, "/plan/")

    def test_costs_the_same_for_many_lines(
        self, manager, site, supplier, plan_line, django_assert_num_queries
    ):
        # Three of the shell, one each for what the page tells, two more for what lies too long.
        with django_assert_num_queries(13):
            page(manager, "/plan/")
        for _ in range(20):
            make_plan_line(site, supplier, run=plan_line.run, suggested_packs=1)
        with django_assert_num_queries(13):
            page(manager, "/plan/")

    def test_tells_first_what_is_late_and_what_another_site_can_spare(
        self, manager, site, supplier, plan_line
    ):
        order = add_to_draft(supplier, site=site, part=make_part(), pieces=1, by=None).order
        send_order(order, by=None)
        Order.objects.update(expected_on=date(2020, 1, 1))
        other = make_site(name="Harbour Road")
        make_plan_line(other, None, run=plan_line.run, part=plan_line.part, on_hand=8)
        text = page(manager, "/plan/")
        assert f"Order {order}" in text
        assert "since 2020-01-01: ask the supplier." in text
        assert "Move 5 from Harbour Road, which can spare 5; then plan again." in text

    def test_says_what_to_bring_forward_for_free_freight(self, manager, site, supplier, plan_line):
        supplier.freight_cents, supplier.freight_free_from_cents = 900, 5_000
        supplier.save()
        early = make_plan_line(
            site,
            supplier,
            run=plan_line.run,
            part=make_part(number="RZ-7"),
            on_hand=3,
            pack_price_cents=2_000,
        )
        text = page(manager, "/plan/")
        assert "Bring 1 part forward and save $8.81" in text
        assert "1 for $20.00, due in 2 weeks" in text
        assert f"/plan/lines/{early.pk}/why/" in text

    def test_counts_what_is_bought_when_asked_and_what_lies_too_long(
        self, manager, site, plan_line
    ):
        make_plan_line(site, None, run=plan_line.run, reorder_point=-1, on_hand=90)
        make_plan_line(site, None, run=plan_line.run, figures={"older": 2})
        text = page(manager, "/plan/")
        assert "1 with older ones to use up" in text
        assert "1 bought when asked" in text
        assert "1 lie too long" in text


class TestPlanTopUp:
    def test_drafts_what_is_due_and_what_comes_early(self, manager, site, supplier, plan_line):
        supplier.freight_cents, supplier.freight_free_from_cents = 900, 5_000
        supplier.save()
        early = make_part(number="RZ-7")
        make_offer(supplier, early, pack_price_cents=2_000)
        make_plan_line(
            site, supplier, run=plan_line.run, part=early, on_hand=3, pack_price_cents=2_000
        )
        for _ in range(2):
            answer = manager.post(f"/suppliers/{supplier.pk}/top-up/")
        order = Order.objects.get()
        assert answer.url == f"/orders/{order.pk}/"
        assert [line.part.number for line in order.lines.all()] == ["QX-4410", "RZ-7"]

    def test_with_nothing_to_bring_forward_says_so(self, manager, supplier, plan_line):
        answer = manager.post(f"/suppliers/{supplier.pk}/top-up/", follow=True)
        assert (
            "Nothing can be brought forward from Blyth Valve Supply; draft the order as it is."
        ) in answer.content.decode()
        assert not Order.objects.exists()


class TestPlanBudget:
    def test_says_what_the_plan_holds_and_where_more_would_serve(self, manager, plan_line):
        text = page(manager, "/plan/budget/")
        assert re.search(r"The plan holds \$\d+\.\d\d on average and fills \d+\.\d% of asks", text)
        assert "Where the next dollar serves most" in text

    def test_plans_for_a_budget_typed_in(self, manager, plan_line):
        text = page(manager, "/plan/budget/?budget=5.00")
        assert "$5.00 placed where it serves most fills" in text
        assert "What this budget would change" in text

    def test_what_is_no_amount_is_said_beside_the_field(self, manager, plan_line):
        assert "Enter a number." in page(manager, "/plan/budget/?budget=much")
        assert "greater than or equal to 0" in page(manager, "/plan/budget/?budget=-5")

    def test_without_a_plan_says_so(self, manager):
        assert "Nothing is planned yet" in page(manager, "/plan/budget/?budget=5.00")

    def test_those_with_a_goal_of_their_own_have_their_own_list(self, manager, site, plan_line):
        part = make_part(number="RZ-3")
        make_plan_line(
            site, None, run=plan_line.run, part=part, figures={"goal": {"kind": "asked"}}
        )
        text = page(manager, "/plan/parts/?show=goal")
        assert "1 part with a goal of its own at Quay Street" in text
        assert "RZ-3" in text
        assert "QX-4410" not in text

    def test_costs_the_same_for_many_parts(
        self, manager, site, plan_line, django_assert_num_queries
    ):
        with django_assert_num_queries(10):
            page(manager, "/plan/budget/?budget=5")
        for _ in range(20):
            make_plan_line(site, None, run=plan_line.run, figures=plan_line.figures)
        with django_assert_num_queries(10):
            page(manager, "/plan/budget/?budget=5")


class TestPlanSeasons:
    def test_tells_the_seasons_of_the_last_plan(self, manager, run):
        run.figures["seasons"] = {"kit": {"asks": 300, "weights": [2.0] * 26 + [0.5] * 26}}
        run.save()
        text = page(manager, "/plan/seasons/")
        assert "Service kit: 2.0 times an average week" in text
        assert "By kind of part, times an average week" in text

    def test_a_plan_writes_them_down(self, manager, site):
        part = make_part(kind="kit")
        for day in range(1, 20):
            log_ask(part, site=site, pieces=1, by=None, key=f"a-{day}", at=noon(day))
        site.asks_logged_from = date(2020, 1, 1)
        site.save()
        run = run_plan(as_of=date(2026, 3, 4), by=None)
        told = run.figures["seasons"]["kit"]
        assert told["asks"] == 19
        assert sum(told["weights"]) == pytest.approx(52, abs=0.01)

    def test_without_any_says_so(self, manager):
        assert "No seasons to tell yet" in page(manager, "/plan/seasons/")


class TestPlanRecord:
    def test_tells_what_the_plan_would_have_filled(self, manager, site):
        part = make_part(number="QX-4410", list_price_cents=6_000)
        make_offer(make_supplier(), part)
        now = timezone.now()
        for week in range(25):
            at = now - timedelta(days=1 + 7 * week)
            log_ask(part, site=site, pieces=1, by=None, key=f"a-{week}", at=at)
        text = page(manager, "/plan/record/")
        assert re.search(r"This plan would have filled \d+% of \d+ asks", text)
        assert "in fact 0% with $0.00" in text

    def test_before_there_is_enough_says_so(self, manager):
        assert "Too early for a track record" in page(manager, "/plan/record/")


class TestPlanSurplus:
    def test_says_what_lies_too_long(self, manager, site, run):
        part = make_part(number="RZ-7")
        receive_stock(part, site=site, pieces=9, value_cents=4_500, by=None, key="r-1")
        make_plan_line(site, None, run=run, part=part, on_hand=9, asks=0.01)
        text = page(manager, "/plan/surplus/")
        assert "$45.00 lies on the shelf beyond what is needed" in text
        assert "no ask for a year" in text

    def test_says_when_there_is_none(self, manager, site, run):
        assert "Nothing lies too long at Quay Street" in page(manager, "/plan/surplus/")

    def test_without_a_plan_says_so(self, manager):
        assert "Nothing is planned yet" in page(manager, "/plan/surplus/")

    def test_costs_the_same_for_many_parts(self, manager, site, run, django_assert_num_queries):
        for number in range(20):
            part = make_part()
            receive_stock(part, site=site, pieces=9, value_cents=90, by=None, key=f"r-{number}")
            make_plan_line(site, None, run=run, part=part, on_hand=9, asks=0.01)
        with django_assert_num_queries(10):
            page(manager, "/plan/surplus/")


class TestPlanParts:
    def test_a_word_picks_out_parts(self, manager, site, plan_line):
        make_plan_line(
            site, None, run=plan_line.run, part=make_part(number="RZ-1"), reorder_point=-1
        )
        assert "RZ-1" not in page(manager, "/plan/parts/?show=order")
        assert "RZ-1" in page(manager, "/plan/parts/?show=asked")
        assert "2 parts in the plan at Quay Street" in page(manager, "/plan/parts/")

    def test_older_ones_to_use_up_have_their_own_list(self, manager, site, plan_line):
        part = make_part(number="RZ-2")
        make_plan_line(site, None, run=plan_line.run, part=part, figures={"older": 2})
        text = page(manager, "/plan/parts/?show=older")
        assert "1 part with older ones to use up at Quay Street" in text
        assert "RZ-2" in text

    def test_costs_the_same_for_many_parts(
        self, manager, site, plan_line, django_assert_num_queries
    ):
        for _ in range(20):
            make_plan_line(site, None, run=plan_line.run)
        with django_assert_num_queries(7):
            page(manager, "/plan/parts/")
