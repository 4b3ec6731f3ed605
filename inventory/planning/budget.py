"""Where the next dollar on the shelf goes.

Each part climbs a ladder of levels (reorder points, or pieces); a level costs money and is worth
something (asks filled, backorders avoided). The steps that buy most for a dollar come first; an
integer programme then looks for a better use of what is left over. What a level costs and is worth
comes from ``policy``.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array

from inventory.planning import checks
from inventory.planning.checks import FloatArray, IntArray

# Parts that the integer programme may move; the others are far from the edge of the budget.
MOVABLE_PARTS = 60
# A plan this near to what any plan could be worth, as a share of what it gains, is left as it is.
NEAR_ENOUGH = 1e-5


@dataclass(frozen=True, slots=True, kw_only=True)
class Ladder:
    """What each level of each part costs and is worth, (n_parts, n_levels); level 0 is the least.

    ``part``, ``level`` and ``next_level`` list the steps worth taking, the best for a dollar first.
    """

    cost: FloatArray
    worth: FloatArray
    part: IntArray
    level: IntArray
    next_level: IntArray

    @property
    def step_cost(self) -> FloatArray:
        return self.cost[self.part, self.next_level] - self.cost[self.part, self.level]

    @property
    def step_worth(self) -> FloatArray:
        return self.worth[self.part, self.next_level] - self.worth[self.part, self.level]


@dataclass(frozen=True, slots=True, kw_only=True)
class ShelfCurve:
    """Money on the shelf against what it is worth, from the least level of every part upwards."""

    money: FloatArray
    worth: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class BudgetPlan:
    """Levels within a budget; ``most_possible`` bounds what any plan within it could be worth."""

    level: IntArray
    money: float
    worth: float
    most_possible: float
    improved: bool


def ladder(cost: ArrayLike, worth: ArrayLike) -> Ladder:
    """The steps between levels that are worth taking, steepest first.

    From level k of a part the next level worth stopping at is the j > k with the greatest
    (worth_j - worth_k) / (cost_j - cost_k): the corners of the upper hull of worth over cost.

    Parameters
    ----------
    cost, worth : (n_parts, n_levels) float arrays, neither falling from level to level

    Returns
    -------
    Ladder

    Raises
    ------
    ValueError : shapes that differ, a cost or worth that falls

    Source: Fox (1966), Discrete optimization via marginal analysis, Management Science 13;
    Sinha & Zoltners (1979), The multiple-choice knapsack problem, for the hull.

    >>> steps = ladder([[0, 10, 20], [0, 5, 10]], [[0, 4, 5], [0, 3, 4]])
    >>> list(zip(steps.part.tolist(), steps.next_level.tolist()))
    [(1, 1), (0, 1), (1, 2), (0, 2)]
    """
    money = np.atleast_2d(checks.finite(cost, "cost of a level"))
    value = np.atleast_2d(checks.finite(worth, "worth of a level"))
    if money.shape != value.shape:
        raise ValueError(f"cost has shape {money.shape}, worth has {value.shape}")
    if (np.diff(money, axis=1) < -1e-9).any() or (np.diff(value, axis=1) < -1e-9).any():
        raise ValueError("neither cost nor worth may fall from one level to the next")
    corners = list(hull_corners(money, value))
    part, level, after = (np.concatenate([step[field] for step in corners]) for field in range(3))
    gain = value[part, after] - value[part, level]
    paid = np.maximum(money[part, after] - money[part, level], 1e-12)
    # Steps of one part fall in steepness, so a stable sort keeps them in order.
    order = np.lexsort((after, part, -gain / paid))
    return Ladder(
        cost=money,
        worth=value,
        part=part[order],
        level=level[order],
        next_level=after[order],
    )


def hull_corners(cost: FloatArray, worth: FloatArray) -> list[tuple[IntArray, IntArray, IntArray]]:
    """Steps (part, from level, to level) along the upper hull, all parts one corner at a time."""
    n_parts, n_levels = cost.shape
    parts, at = np.arange(n_parts), np.zeros(n_parts, dtype=np.int64)
    steps = [(parts[:0], at[:0], at[:0])]
    while len(parts):
        gain = worth[parts] - worth[parts, at][:, None]
        paid = np.maximum(cost[parts] - cost[parts, at][:, None], 1e-12)
        steepness = np.where(np.arange(n_levels) > at[:, None], gain / paid, -np.inf)
        # Of equally steep steps the longest: no corner in the middle of a straight line.
        after = n_levels - 1 - steepness[:, ::-1].argmax(axis=1)
        climbs = steepness[np.arange(len(parts)), after] > 1e-12
        parts, at, after = parts[climbs], at[climbs], after[climbs]
        steps.append((parts, at, after))
        at = after
    return steps


def shelf_curve(steps: Ladder) -> ShelfCurve:
    """The curve of worth against money, if every next dollar goes where it buys most.

    >>> shelf_curve(ladder([[0, 10, 20]], [[0, 4, 5]])).worth
    array([0., 4., 5.])
    """
    money = np.concatenate([[steps.cost[:, 0].sum()], steps.step_cost]).cumsum()
    worth = np.concatenate([[steps.worth[:, 0].sum()], steps.step_worth]).cumsum()
    return ShelfCurve(money=money, worth=worth)


def budget_plan(steps: Ladder, *, budget: float, seconds: float = 0.3) -> BudgetPlan:
    """The levels that are worth most within a budget.

    max sum worth_(p, level_p) with sum cost_(p, level_p) <= budget.

    Parameters
    ----------
    steps : ladder of all parts
    budget : money, at least the cost of every part's level 0
    seconds : time limit of the integer programme; 0 leaves it out

    Returns
    -------
    BudgetPlan : ``improved`` tells whether the integer programme found a better plan

    Raises
    ------
    ValueError : a budget below the cost of every part's least level

    Source: marginal analysis: Fox (1966); Sherbrooke (1968), METRIC; solver: HiGHS through SciPy.

    >>> plan = budget_plan(ladder([[0, 10, 20], [0, 5, 10]], [[0, 4, 5], [0, 3, 4]]), budget=15)
    >>> plan.level, plan.worth
    (array([1, 1]), 7.0)
    """
    least = float(steps.cost[:, 0].sum())
    if not budget >= least:
        raise ValueError(
            f"budget must be at least {least:g}, the cost of the least levels; got {budget:g}"
        )
    level, most = climbed(steps, budget - least)
    gap = most - total(steps.worth, level)
    worthwhile = gap > NEAR_ENOUGH * (most - float(steps.worth[:, 0].sum()))
    better = exchanged(steps, level, budget, seconds) if seconds > 0 and worthwhile else level
    improved = total(steps.worth, better) > total(steps.worth, level) + 1e-12
    level = better if improved else level
    return BudgetPlan(
        level=level,
        money=total(steps.cost, level),
        worth=total(steps.worth, level),
        most_possible=most,
        improved=improved,
    )


def total(table: FloatArray, level: IntArray) -> float:
    return float(table[np.arange(len(level)), level].sum())


def climbed(steps: Ladder, money: float) -> tuple[IntArray, float]:
    """Levels by marginal analysis, and the worth if the last step could be taken in part."""
    cost, gain = steps.step_cost, steps.step_worth
    spent = cost.cumsum()
    whole = int(np.searchsorted(spent, money * (1 + 1e-12), side="right"))
    level = np.zeros(len(steps.cost), dtype=np.int64)
    np.maximum.at(level, steps.part[:whole], steps.next_level[:whole])
    left = money - (spent[whole - 1] if whole else 0.0)
    most = total(steps.worth, level)
    if whole < len(spent):
        most += float(gain[whole] * left / max(cost[whole], 1e-12))
    for step in whole + np.flatnonzero(cost[whole:] <= left):
        part = steps.part[step]
        if steps.level[step] == level[part] and cost[step] <= left:
            level[part] = steps.next_level[step]
            left -= cost[step]
    return level, most


def exchanged(steps: Ladder, level: IntArray, budget: float, seconds: float) -> IntArray:
    """The best levels when the parts nearest to the edge of the budget may all move."""
    parts = nearest_to_the_edge(steps, level)
    fixed = np.ones(len(level), dtype=bool)
    fixed[parts] = False
    money = budget - steps.cost[fixed, level[fixed]].sum()
    n_parts, n_levels = len(parts), steps.cost.shape[1]
    choice = np.arange(n_parts * n_levels)
    one_each = coo_array((np.ones(len(choice)), (choice // n_levels, choice)))
    answer = milp(
        -steps.worth[parts].ravel(),
        constraints=[
            LinearConstraint(one_each.tocsr(), 1, 1),
            LinearConstraint(steps.cost[parts].reshape(1, -1), -np.inf, money),
        ],
        integrality=np.ones(len(choice), dtype=np.int64),
        bounds=Bounds(0, 1),
        options={"time_limit": seconds, "mip_rel_gap": 1e-9},
    )
    better = level.copy()
    if answer.x is not None:
        better[parts] = answer.x.reshape(n_parts, n_levels).argmax(axis=1)
    return better if total(steps.cost, better) <= budget * (1 + 1e-9) else level


def nearest_to_the_edge(steps: Ladder, level: IntArray) -> IntArray:
    """Parts whose last step taken or first step left is nearest to the one that ended the money."""
    taken = steps.next_level <= level[steps.part]
    edge = int(taken.sum())
    distance = np.full(len(level), np.inf)
    np.minimum.at(distance, steps.part, np.abs(np.arange(len(steps.part)) - edge).astype(float))
    return np.sort(np.argsort(distance, kind="stable")[:MOVABLE_PARTS])
