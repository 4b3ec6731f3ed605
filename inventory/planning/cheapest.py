"""The reorder point that costs least, once it is known what an empty shelf costs.

A target is a promise; this is the other way to choose: hold one piece more as long as it saves more
than it costs. The laws and the curves are those of ``policy``.
"""

from dataclasses import dataclass, fields
from typing import Self

import numpy as np
from numpy.typing import ArrayLike

from inventory.planning import checks
from inventory.planning.checks import FloatArray, IntArray
from inventory.planning.curves import Batch, Curves, Task, moments_as_asked
from inventory.planning.demand import Demand
from inventory.planning.interval import Interval
from inventory.planning.policy import CERTAIN, Measure, Policy, checked_task, solved

# Less than one miss in a million is none: inversion cannot tell them apart.
NOTHING = 1 - CERTAIN
# Deviations above the mean where the search first stops: most optima lie below it.
FIRST_REACH = 5.0


def cheapest_reorder_point(
    demand: Demand,
    interval: Interval,
    *,
    order_quantity: ArrayLike,
    holding_cost: ArrayLike,
    ask_cost: ArrayLike = 0.0,
    piece_cost: ArrayLike = 0.0,
    waiting_cost: ArrayLike = 0.0,
    law: ArrayLike | None = None,
) -> Policy:
    """The reorder points from -1 up at which holding and falling short cost least together.

    cost(R) = h OH(R) + a n (1 - JF(R)) + c m (1 - UF(R)) + b BO(R) per day, with on hand OH and
    backorders BO, job fill JF and unit fill UF, n asks and m pieces a day. Of equally cheap points
    the smallest.

    Parameters
    ----------
    demand : demand of n_parts parts
    interval : the interval laws
    order_quantity : (n_parts,) whole numbers from 1 up, pieces
    holding_cost : h, (n_parts,) or one, money per piece and day, above 0
    ask_cost : a, (n_parts,) or one, money per ask whose whole quantity is not there
    piece_cost : c, (n_parts,) or one, money per piece that is not there at once
    waiting_cost : b, (n_parts,) or one, money per piece and day that somebody waits for it
    law : (n_parts,) int array, which interval law a part uses; law 0 when absent

    Returns
    -------
    Policy : (n_parts,) arrays

    Raises
    ------
    ValueError : a holding cost of 0, a negative cost, a quantity below 1

    Source: Zipkin (2000), Foundations of Inventory Management, chapter 6: with b alone and Q = 1
    the cheapest base stock S = R + 1 is the smallest with P(D <= S) >= b / (b + h). The costs of an
    ask and of a piece: Hadley & Whitin (1963), Analysis of Inventory Systems, chapter 4 (from
    memory). Over R the cost can fall, rise and fall again where asks are for several pieces, so
    every R is looked at.

    >>> from inventory.planning.demand import TableSizes
    >>> asks = Demand.of([50.0], TableSizes.of([0, 1.0]))
    >>> found = cheapest_reorder_point(
    ...     asks, Interval.of([1.0]), order_quantity=1, holding_cost=0.18, waiting_cost=0.70
    ... )
    >>> found.reorder_point + 1
    array([56])
    """
    task = checked_task(demand, interval, order_quantity, law)
    costs = Costs(
        held=checks.positive(holding_cost, "holding cost"),
        unfilled=checks.not_negative(ask_cost, "cost of an ask") * demand.asks_per_day,
        missing=checks.not_negative(piece_cost, "cost of a piece") * demand.pieces_per_day,
        waited=checks.not_negative(waiting_cost, "cost of waiting"),
    )

    def cheapest(curves: Curves, batch: Batch) -> IntArray:
        mean = task.mean[batch.rows]
        return cheapest_point(costs.of(batch.rows, task.mean.shape), curves, batch.step, mean)

    return solved(task, cheapest, highest=reach_of(task))


@dataclass(frozen=True, slots=True, kw_only=True)
class Costs:
    """Money a day: per piece held, if no ask were filled, no piece served, per piece waited for."""

    held: FloatArray
    unfilled: FloatArray
    missing: FloatArray
    waited: FloatArray

    def of(self, rows: IntArray, shape: tuple[int, ...]) -> Self:
        wide = {f.name: np.broadcast_to(getattr(self, f.name), shape)[rows] for f in fields(self)}
        return type(self)(**wide)


def cheapest_point(costs: Costs, curves: Curves, step: int, mean: FloatArray) -> IntArray:
    """The point of least cost; the last one read where a cheaper one may lie beyond."""
    # Below each other, so that rows of one entry a part fit each of them.
    points = np.arange(-1, curves.length - 1)[:, None] + np.zeros_like(curves.order_quantity)
    held = curves.mean_on_hand(points) * step
    position = (points + (curves.order_quantity + 1) / 2) * step
    short = costs.waited * np.maximum(held - position * (1 + NOTHING) + mean, 0)
    short += costs.unfilled * misses(curves, "job_fill", points)
    short += costs.missing * misses(curves, "unit_fill", points)
    best = (costs.held * held + short).argmin(axis=0) - 1
    last = np.maximum(curves.length - 1 - curves.order_quantity, -1)
    left_to_save = short[last + 1, np.arange(len(last))]
    one_more = costs.held * step * curves.service("ready_rate", last)
    sure = (left_to_save <= one_more) & (best <= last)
    return np.where(sure, best, curves.length - 1)


def misses(curves: Curves, measure: Measure, points: IntArray) -> FloatArray:
    return np.asarray(np.maximum(CERTAIN - curves.service(measure, points), 0))


def reach_of(task: Task) -> IntArray:
    mean, deviation = moments_as_asked(task)
    return np.asarray(np.ceil(mean + task.mean_size + FIRST_REACH * deviation), dtype=np.int64)
