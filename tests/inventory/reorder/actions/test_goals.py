from datetime import date
from typing import Any

import pytest
from django.core.exceptions import ValidationError

from inventory.catalog.actions.fitments import supersede_part
from inventory.reorder.actions.goals import set_goal, take_back_goals
from inventory.reorder.models import GoalKind, PartGoal
from inventory.shop.models import Change
from inventory.shop.roles import Role
from tests.make import make_part, make_site, make_user

pytestmark = pytest.mark.django_db


@pytest.fixture
def part():
    return make_part(number="QX-4410")


@pytest.fixture
def site():
    return make_site(name="Quay Street")


@pytest.fixture
def ines():
    return make_user(Role.PARTS_MANAGER, username="ines")


def given(part, *sites, by=None, **facts):
    usual: dict[str, Any] = {
        "kind": GoalKind.AT_LEAST,
        "amount": 4,
        "words": "the fleet does not wait",
    }
    return set_goal(part, sites=sites, by=by, **usual | facts)


class TestSetGoal:
    def test_keeps_what_why_and_who(self, part, site, ines):
        goal = given(part, site, by=ines)[0]
        assert (str(goal), goal.words, goal.by) == (
            "at least 4 kept",
            "the fleet does not wait",
            ines,
        )

    def test_stands_in_the_log_of_changes(self, part, site, ines):
        goal = given(part, site, by=ines)[0]
        given(part, site, by=ines, kind=GoalKind.PERCENT, amount=99)
        second, first = Change.objects.of(goal)
        assert first.words == "goal of QX-4410 at Quay Street"
        assert (first.by, first.before) == (ines, {})
        assert second.before["amount"] == 4
        assert second.after == {
            "kind": "percent",
            "amount": 99,
            "words": "the fleet does not wait",
        }

    def test_takes_the_place_of_the_goal_it_had(self, part, site):
        given(part, site)
        given(part, site, kind=GoalKind.WHEN_ASKED, amount=7)
        goal = PartGoal.objects.get()
        assert (goal.kind, goal.amount, str(goal)) == ("asked", None, "bought when asked")

    def test_at_several_sites_each_has_its_own(self, part, site):
        goals = given(part, site, make_site())
        assert PartGoal.objects.filter(part=part).count() == len(goals) == 2

    @pytest.mark.parametrize(
        ("facts", "sentence"),
        [
            ({"amount": None}, "Give a percent or a number of pieces; a part bought when asked has "
             "neither."),
            ({"kind": GoalKind.PERCENT, "amount": 100}, "No shelf serves every job: a percent from "
             "1 to 99."),
            ({"words": ""}, "This field cannot be blank."),
        ],
    )  # fmt: skip
    def test_refuses_what_cannot_be_planned(self, part, site, facts, sentence):
        with pytest.raises(ValidationError) as refusal:
            given(part, site, **facts)
        assert refusal.value.messages == [sentence]
        assert not PartGoal.objects.exists()

    def test_refuses_a_part_that_another_took_the_place_of(self, part, site):
        supersede_part(part, make_part(number="QX-4411"), by=None, since=date(2020, 1, 1))
        with pytest.raises(ValidationError) as refusal:
            given(part, site)
        assert refusal.value.messages == [
            "QX-4410 is replaced by QX-4411 and bought no more; give that one the goal."
        ]


class TestTakeBackGoals:
    def test_ends_the_goal_and_keeps_it_in_the_log(self, part, site, ines):
        goal = given(part, site)[0]
        pk = goal.pk
        assert take_back_goals(part, sites=[site], by=ines) == 1
        assert not PartGoal.objects.exists()
        ended = Change.objects.get(kind=goal._meta.label, record=str(pk), by=ines)
        assert ended.before == {
            "kind": "at_least",
            "amount": 4,
            "words": "the fleet does not wait",
        }
        assert ended.after == {}

    def test_ends_nothing_elsewhere_or_of_other_parts(self, part, site):
        given(part, site, make_site())
        given(make_part(), site)
        assert take_back_goals(part, sites=[site], by=None) == 1
        assert PartGoal.objects.count() == 2

    def test_where_there_is_none_nothing_happens(self, part, site):
        assert take_back_goals(part, sites=[site], by=None) == 0
        assert not Change.objects.exists()
