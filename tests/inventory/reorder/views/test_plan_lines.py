from datetime import UTC, datetime

import pytest
from django.urls import reverse

from inventory.ledger.actions import log_ask
from inventory.reorder.actions.goals import set_goal
from inventory.reorder.actions.plan import run_plan
from inventory.reorder.models import GoalKind, PartGoal, PlanLine
from inventory.shop.models import ShopSettings
from tests.inventory.reorder.pages import page
from tests.make import make_part, make_site

pytestmark = pytest.mark.django_db


def noon(day):
    return datetime(2026, 2, day, 12, tzinfo=UTC)


def post(client, name, line, **values):
    return client.post(reverse(f"inventory:{name}", args=[line.pk]), values, follow=True)


def text_of(answer):
    return answer.content.decode()


WANTED = {"kind": "at_least", "amount": "4", "words": "the fleet does not wait"}


class TestPartGoal:
    def test_is_set_before_any_plan_looked_at_the_part(self, manager, site):
        part = make_part(number="QX-7700")
        text = page(manager, f"/parts/{part.pk}/")
        assert f'href="/parts/{part.pk}/goal/">Give it a goal' in text
        assert "QX-7700 has no goal of its own at" in page(manager, f"/parts/{part.pk}/goal/")
        answer = post(manager, "part_goal", part, **WANTED)
        assert "QX-7700: at least 4 kept at Quay Street. The next plan" in text_of(answer)
        line = PlanLine.objects.get(run=run_plan(as_of=site.today(), by=None), part=part)
        assert line.own_goal == "at least 4 kept"
        assert line.reorder_point >= 3
        assert f'href="/plan/lines/{line.pk}/why/">How many' in page(manager, f"/parts/{part.pk}/")

    def test_shows_the_one_it_has(self, manager, site, plan_line):
        kind, words = GoalKind.AT_LEAST, WANTED["words"]
        set_goal(plan_line.part, sites=[site], kind=kind, amount=4, words=words, by=None)
        text = page(manager, f"/parts/{plan_line.part_id}/goal/")
        assert "QX-4410 at Quay Street: at least 4 kept" in text

    def test_is_refused_for_what_is_not_counted(self, manager):
        part = make_part("cap", number="QX-1", counted="not")
        assert "Give it a goal" not in page(manager, f"/parts/{part.pk}/")
        answer = post(manager, "part_goal", part, **WANTED)
        assert "QX-1 is not counted, so no plan looks at it; count it." in text_of(answer)
        assert not PartGoal.objects.exists()


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

    def test_asks_for_no_goal_of_what_is_bought_no_more(self, manager, site, plan_line):
        path = f"/plan/lines/{plan_line.pk}/why/"
        assert "Set its goal" in page(manager, path)
        plan_line.figures["superseded"] = True
        plan_line.save()
        assert 'id="goal"' not in page(manager, path)
        set_goal(
            plan_line.part, sites=[site], kind=GoalKind.WHEN_ASKED, amount=None, words="w", by=None
        )
        text = page(manager, path)
        assert "Take the goal back" in text
        assert "Change its goal</button>" not in text

    def test_a_line_without_figures_still_answers(self, manager, plan_line):
        plan_line.figures = {}
        plan_line.save()
        text = page(manager, f"/plan/lines/{plan_line.pk}/why/")
        assert "were not kept with the plan; plan again to see why." in text

    def test_costs_the_same_for_many_asks(
        self, manager, site, plan_line, django_assert_num_queries
    ):
        path = f"/plan/lines/{plan_line.pk}/why/"
        with django_assert_num_queries(13):
            page(manager, path)
        for day in range(1, 20):
            log_ask(plan_line.part, site=site, pieces=1, by=None, key=f"a-{day}", at=noon(day))
        with django_assert_num_queries(13):
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

    def test_the_page_asks_for_a_goal_of_its_own(self, manager, plan_line, site):
        make_site()
        shown = page(manager, f"/plan/lines/{plan_line.pk}/why/")
        assert "Set its goal" in shown
        assert "Its target is the shop&#x27;s for all parts, 95% of jobs." in shown
        assert "At every site" in shown
        assert "Take the goal back" not in shown

    def test_beside_the_list_it_leads_to_the_page_that_has_the_form(self, manager, plan_line):
        address = f"/plan/lines/{plan_line.pk}/why/"
        shown = manager.get(address, headers={"HX-Request": "true"}).content.decode()
        assert f'href="{address}#goal">Change its goal</a>' in shown
        assert "<form" not in shown

    def test_queries_do_not_grow_with_the_goals(
        self, manager, plan_line, site, django_assert_num_queries
    ):
        sites = [site, *(make_site() for _ in range(6))]
        set_goal(
            plan_line.part,
            sites=sites,
            kind=GoalKind.PERCENT,
            amount=99,
            words="ready",
            by=None,
        )
        with django_assert_num_queries(13):
            shown = page(manager, f"/plan/lines/{plan_line.pk}/why/")
        assert shown.count("99% of jobs") == 7


class TestPlanGoalSet:
    def test_sets_the_goal_and_says_from_when_it_counts(self, manager, plan_line, site):
        answer = post(manager, "plan_goal_set", plan_line, **WANTED)
        goal = PartGoal.objects.get()
        assert (goal.site, goal.kind, goal.amount) == (site, "at_least", 4)
        assert str(goal.by) == str(answer.context["user"])
        shown = text_of(answer)
        assert "QX-4410: at least 4 kept at Quay Street. The next plan counts with it." in shown
        assert "Its own goal: at least 4 kept" in shown
        assert "the fleet does not wait" in shown

    def test_shows_the_goal_it_has_in_the_form(self, manager, plan_line):
        post(manager, "plan_goal_set", plan_line, **WANTED)
        shown = page(manager, f"/plan/lines/{plan_line.pk}/why/")
        assert '<option value="at_least" selected>' in shown
        assert 'name="amount" value="4"' in shown

    def test_at_every_site(self, manager, plan_line, site):
        other = make_site(name="Ridge")
        answer = post(manager, "plan_goal_set", plan_line, everywhere="on", **WANTED)
        assert set(PartGoal.objects.values_list("site", flat=True)) == {site.pk, other.pk}
        assert "at least 4 kept at 2 sites." in text_of(answer)

    @pytest.mark.parametrize(
        ("values", "sentence"),
        [
            ({"amount": ""}, "Give the number of pieces that are always kept, at least 1."),
            ({"amount": "0"}, "Give the number of pieces that are always kept, at least 1."),
            ({"kind": "percent", "amount": "100"}, "Give the percent of jobs to be served from the "
             "shelf, from 1 to 99."),
            ({"words": ""}, "This field is required."),
            ({"kind": "never"}, "Select a valid choice. never is not one of the available "
             "choices."),
        ],
    )  # fmt: skip
    def test_refuses_beside_the_field(self, manager, plan_line, values, sentence):
        answer = post(manager, "plan_goal_set", plan_line, **WANTED | values)
        assert answer.status_code == 200
        assert sentence in text_of(answer)
        assert not PartGoal.objects.exists()


class TestPlanGoalEnd:
    def test_takes_it_back(self, manager, plan_line):
        post(manager, "plan_goal_set", plan_line, **WANTED)
        answer = post(manager, "plan_goal_end", plan_line)
        assert not PartGoal.objects.exists()
        assert "QX-4410 has no goal of its own any more." in text_of(answer)

    def test_at_every_site_where_there_are_others(self, manager, plan_line):
        make_site()
        post(manager, "plan_goal_set", plan_line, everywhere="on", **WANTED)
        shown = page(manager, f"/plan/lines/{plan_line.pk}/why/")
        assert "Take it back at every site" in shown
        post(manager, "plan_goal_end", plan_line, everywhere="yes")
        assert not PartGoal.objects.exists()

    def test_sent_twice_it_says_nothing_more(self, manager, plan_line):
        answer = post(manager, "plan_goal_end", plan_line)
        assert "has no goal" not in text_of(answer)


@pytest.fixture(autouse=True)
def saved_settings():
    ShopSettings.load().save()
