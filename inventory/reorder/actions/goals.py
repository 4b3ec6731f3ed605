"""A part's own goal: set by somebody who says why, and taken back; both stand in the log."""

from collections.abc import Iterable
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from inventory.catalog.models import Counted, Part
from inventory.reorder.inputs.superseded import read_superseded
from inventory.reorder.models import GoalKind, PartGoal
from inventory.shop.actions import record_changes
from inventory.shop.models import Site

LOGGED = ("kind", "amount", "words")


@transaction.atomic
def set_goal(
    part: Part, *, sites: Iterable[Site], kind: str, amount: int | None, words: str, by: Any
) -> list[PartGoal]:
    """Give a part one goal at these sites, in place of any it had there."""
    given = {
        "kind": kind,
        "amount": None if kind == GoalKind.WHEN_ASKED else amount,
        "words": words,
    }
    _check_is_bought(part)
    goals, changes = [], []
    for site in sites:
        had = PartGoal.objects.filter(part=part, site=site).first()
        before = {name: getattr(had, name) for name in LOGGED} if had else {}
        goal = had or PartGoal(part=part, site=site)
        for name, value in given.items():
            setattr(goal, name, value)
        goal.by, goal.set_at = by, timezone.now()
        goal.full_clean()
        goal.save()
        goals.append(goal)
        changes.append((goal, logged_as(goal), before, given))
    record_changes(changes, by=by)
    return goals


def _check_is_bought(part: Part) -> None:
    if part.counted == Counted.NOT:
        raise ValidationError(f"{part.number} is not counted, so no plan looks at it; count it.")
    superseded = read_superseded(timezone.localdate())
    newer = superseded.newest.get(part.pk)
    if newer is not None:
        raise ValidationError(
            f"{part.number} is replaced by {superseded.number[newer]} and bought no more; "
            "give that one the goal."
        )


@transaction.atomic
def take_back_goals(part: Part, *, sites: Iterable[Site], by: Any) -> int:
    """What the shop plans for all parts holds for this one again; how many goals that ended."""
    had = PartGoal.objects.filter(part=part, site__in=list(sites))
    goals = list(had.select_related("part", "site"))
    record_changes(
        [
            (goal, logged_as(goal), {name: getattr(goal, name) for name in LOGGED}, {})
            for goal in goals
        ],
        by=by,
    )
    PartGoal.objects.filter(pk__in=[goal.pk for goal in goals]).delete()
    return len(goals)


def logged_as(goal: PartGoal) -> str:
    return f"goal of {goal.part.number} at {goal.site}"
