import re
from datetime import UTC, datetime, time

import pytest

from inventory.ledger.actions import log_ask, receive_stock
from inventory.reorder.models import PlanRun
from tests.inventory.reorder.pages import page
from tests.make import make_part, make_plan_line

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
        with django_assert_num_queries(6):  # session, person, sites, run, lines, shop
            page(manager, "/plan/")
        for _ in range(20):
            make_plan_line(site, supplier, run=plan_line.run, suggested_packs=1)
        with django_assert_num_queries(6):
            page(manager, "/plan/")


class TestPlanParts:
    def test_a_word_picks_out_parts(self, manager, site, plan_line):
        make_plan_line(
            site, None, run=plan_line.run, part=make_part(number="RZ-1"), reorder_point=-1
        )
        assert "RZ-1" not in page(manager, "/plan/parts/?show=order")
        assert "RZ-1" in page(manager, "/plan/parts/?show=asked")
        assert "2 parts in the plan at Quay Street" in page(manager, "/plan/parts/")

    def test_costs_the_same_for_many_parts(
        self, manager, site, plan_line, django_assert_num_queries
    ):
        for _ in range(20):
            make_plan_line(site, None, run=plan_line.run)
        with django_assert_num_queries(7):
            page(manager, "/plan/parts/")


class TestPlanWhy:
    def test_tells_it_in_three_sentences_and_a_table(self, manager, plan_line):
        text = page(manager, f"/plan/lines/{plan_line.pk}/why/")
        assert "12 asks in the weeks looked at" in text
        assert "reordering at 2," in text
        assert "1 here and 0 coming, less 0 promised, leave 1, reorder point 2: order 12." in text
        assert "One piece more or less" in text
        assert "Pieces of QX-4410 asked for between an order and its delivery" in text

    def test_shows_the_year_before_the_plan(self, manager, plan_line):
        text = page(manager, f"/plan/lines/{plan_line.pk}/why/")
        assert "Asks for QX-4410 by week" in text
        assert "QX-4410 on the shelf and its reorder point" in text

    def test_a_line_without_figures_still_answers(self, manager, plan_line):
        plan_line.figures = {}
        plan_line.save()
        text = page(manager, f"/plan/lines/{plan_line.pk}/why/")
        assert "were not kept with the plan; plan again to see why." in text

    def test_costs_the_same_for_many_asks(
        self, manager, site, plan_line, django_assert_num_queries
    ):
        path = f"/plan/lines/{plan_line.pk}/why/"
        with django_assert_num_queries(10):
            page(manager, path)
        for day in range(1, 20):
            log_ask(plan_line.part, site=site, pieces=1, by=None, key=f"a-{day}", at=noon(day))
        with django_assert_num_queries(10):
            page(manager, path)

    def test_opens_inside_the_list(self, manager, plan_line):
        answer = manager.get(f"/plan/lines/{plan_line.pk}/why/", headers={"HX-Request": "true"})
        text = answer.content.decode()
        assert text.lstrip().startswith("<tbody>")
        assert "One piece more or less" in text

    def test_closes_inside_the_list(self, manager, plan_line):
        answer = manager.get(
            f"/plan/lines/{plan_line.pk}/why/?close", headers={"HX-Request": "true"}
        )
        assert "One piece more or less" not in answer.content.decode()

    def test_a_part_bought_when_asked_says_what_keeping_would_cost(self, manager, plan_line):
        plan_line.reorder_point, plan_line.suggested_packs = -1, 0
        plan_line.save()
        assert (
            "Keeping it on the shelf would cost $7.00 a year and save $90.00; "
            "it is bought when asked."
        ) in page(manager, f"/plan/lines/{plan_line.pk}/why/")


class TestPlanAgain:
    def test_plans_what_is_on_the_shelf(self, manager, site):
        receive_stock(make_part(), site=site, pieces=2, value_cents=50, by=None, key="r-1")
        answer = manager.post("/plan/again/", follow=True)
        assert "1 shelf at 1 site looked at" in answer.content.decode()
        assert PlanRun.objects.finished().count() == 1
