"""What the shelf is planned to: the shop's settings, and the goals that parts have of their own."""

from collections.abc import Sequence
from typing import Any

import numpy as np

from inventory.reorder.inputs.facts import Goals, Ints, Rows
from inventory.reorder.inputs.stock import COUNTED_PART, table
from inventory.reorder.models import GoalKind, PartGoal
from inventory.shop.models import ShelfGoal, ShopSettings, Site


def read_goals(sites: Sequence[Site]) -> list[PartGoal]:
    """Goals of parts at sites that sell."""
    goals = PartGoal.objects.filter(site__in=[site.pk for site in sites], **COUNTED_PART)
    return list(goals.order_by("pk").select_related("by", "site"))


def part_sites(goals: Sequence[PartGoal]) -> Ints:
    return table(((goal.part_id, goal.site_id) for goal in goals), 2)


def goals_of(rows: Rows, own: Sequence[PartGoal], shop: ShopSettings) -> Goals:
    n, at = len(rows.part), rows.of(*part_sites(own).T)
    target, at_least = np.full(n, np.nan), np.zeros(n, dtype=np.int64)
    when_asked = np.zeros(n, dtype=np.bool_)
    for row, goal in zip(at.tolist(), own, strict=True):
        if goal.kind == GoalKind.PERCENT:
            target[row] = (goal.amount or 0) / 100
        elif goal.kind == GoalKind.AT_LEAST:
            at_least[row] = goal.amount or 0
        else:
            when_asked[row] = True
    classes = (shop.target_a_percent, shop.target_b_percent, shop.target_c_percent)
    return Goals(
        shelf=ShelfGoal(shop.shelf_goal),
        target=shop.service_target_percent / 100,
        class_targets=tuple(percent / 100 for percent in classes),
        own_target=target,
        at_least=at_least,
        when_asked=when_asked,
        told={row: told_of(goal) for row, goal in zip(at.tolist(), own, strict=True)},
    )


def told_of(goal: PartGoal) -> dict[str, Any]:
    """What a plan line keeps of a goal, so that it can be told after the goal has changed."""
    return {
        "kind": goal.kind,
        "what": str(goal),
        "words": goal.words,
        "by": str(goal.by) if goal.by else "",
        "on": goal.site.day_of(goal.set_at).isoformat(),
    }
