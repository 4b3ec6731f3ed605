"""How well a reorder point serves, and the smallest that serves well enough.

The rule: when on hand + on order - held - owed falls to the reorder point R or below, order as many
times the quantity Q as lift it above R. The position after a look is then uniform on R+1 … R+Q,
whatever the sizes. Exact for every law of ``demand`` and ``interval``; what to order in money is
``order_size`` and ``budget``.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from inventory.planning import checks
from inventory.planning.checks import FloatArray, IntArray
from inventory.planning.curves import Batch, Curves, Lengths, Task, curve_batches
from inventory.planning.demand import Demand, interval_rows
from inventory.planning.interval import Interval

Measure = Literal["ready_rate", "unit_fill", "job_fill"]
MEASURES: tuple[Measure, ...] = ("ready_rate", "unit_fill", "job_fill")
# Inversion leaves errors of 1e-9; a target met but for that is met.
ROUNDING = 1e-9
# A target nearer to 1 asks for more than rounding can tell apart.
CERTAIN = 1 - 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Policy:
    """Reorder points with the service they give; arrays with one entry a part.

    ready_rate is the share of time with at least one piece on hand; unit_fill the share of pieces
    served at once from the shelf; job_fill the share of asks whose whole quantity is there.
    """

    reorder_point: IntArray
    order_quantity: IntArray
    ready_rate: FloatArray
    unit_fill: FloatArray
    job_fill: FloatArray
    mean_on_hand: FloatArray
    mean_backorders: FloatArray
    mean_demand: FloatArray
    deviation_of_demand: FloatArray


def policy_service(
    demand: Demand,
    interval: Interval,
    *,
    reorder_point: ArrayLike,
    order_quantity: ArrayLike,
    law: ArrayLike | None = None,
) -> Policy:
    """The service that given reorder points and order quantities provide.

    With D the demand over the interval, S the size of an ask, H a size still open within an ask
    (P(H = h) = P(S > h) / E[S]), y uniform on R+1 … R+Q:
    ready rate = P(D < y), job fill = P(D + S <= y), unit fill = P(D + H < y),
    on hand = E[(y - D)+], backorders = on hand - E[y] + E[D].

    Parameters
    ----------
    demand : demand of n_parts parts
    interval : the interval laws
    reorder_point : (n_parts,) whole numbers from -1 up, pieces
    order_quantity : (n_parts,) whole numbers from 1 up, pieces
    law : (n_parts,) int array, which interval law a part uses; law 0 when absent

    Returns
    -------
    Policy : (n_parts,) arrays

    Raises
    ------
    ValueError : a reorder point below -1, a quantity below 1, not whole

    Source: Axsäter (2015), Inventory Control, 3rd ed., sections 5.3-5.5; Zipkin (2000), chapter 7.

    >>> from inventory.planning.demand import TableSizes
    >>> asks = Demand.of([0.3], TableSizes.of([0, 1.0]))
    >>> found = policy_service(asks, Interval.of([1.0]), reorder_point=0, order_quantity=1)
    >>> found.unit_fill.round(6)  # exp(-0.3): nobody asked within the lead time
    array([0.740818])
    """
    at = np.broadcast_to(
        checks.counts(reorder_point, "reorder point", least=-1), demand.asks_per_day.shape
    )

    def given(curves: Curves, batch: Batch) -> IntArray:
        return np.asarray(at[batch.rows] // batch.step)

    return solved(checked_task(demand, interval, order_quantity, law), given, highest=at)


def reorder_point(
    demand: Demand,
    interval: Interval,
    *,
    order_quantity: ArrayLike,
    target: ArrayLike,
    measure: Measure = "job_fill",
    law: ArrayLike | None = None,
) -> Policy:
    """The smallest reorder points from -1 up whose service reaches the target.

    A part that nobody asks for gets -1: bought when asked.

    Parameters
    ----------
    demand : demand of n_parts parts
    interval : the interval laws
    order_quantity : (n_parts,) whole numbers from 1 up, pieces
    target : (n_parts,) or one number, between 0 and 1
    measure : ready_rate, unit_fill or job_fill
    law : (n_parts,) int array, which interval law a part uses; law 0 when absent

    Returns
    -------
    Policy : (n_parts,) arrays

    Raises
    ------
    ValueError : a target outside 0 to 1, an unknown measure, a quantity below 1

    Source: as ``policy_service``; service rises with R, so the smallest is found by bisection.

    >>> from inventory.planning.demand import TableSizes
    >>> asks = Demand.of([0.4], TableSizes.of([0, 0.6, 0, 0, 0.4]))
    >>> found = reorder_point(
    ...     asks, Interval.of([5.0]), order_quantity=4, target=0.9, measure="unit_fill"
    ... )
    >>> found.reorder_point
    array([9])
    """
    if measure not in MEASURES:
        raise ValueError(f"measure must be one of {', '.join(MEASURES)}; got {measure!r}")
    goal = np.broadcast_to(
        checks.between_0_and_1(target, "service target"), demand.asks_per_day.shape
    )
    goal = np.where(demand.asks_per_day > 0, np.minimum(goal, CERTAIN) - ROUNDING, 0.0)

    def smallest(curves: Curves, batch: Batch) -> IntArray:
        return curves.smallest(measure, goal[batch.rows])

    return solved(checked_task(demand, interval, order_quantity, law), smallest, highest=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class ServiceLevels:
    """Service at reorder points -1, 0, 1 …, (n_parts, n_levels) each."""

    reorder_point: IntArray
    ready_rate: FloatArray
    unit_fill: FloatArray
    job_fill: FloatArray
    mean_on_hand: FloatArray
    mean_backorders: FloatArray


def service_levels(
    demand: Demand,
    interval: Interval,
    *,
    order_quantity: ArrayLike,
    levels: int,
    law: ArrayLike | None = None,
) -> ServiceLevels:
    """Service at every reorder point from -1 up, for a curve or a budget.

    Parameters
    ----------
    demand : demand of n_parts parts
    interval : the interval laws
    order_quantity : (n_parts,) whole numbers from 1 up, pieces
    levels : number of reorder points, the first is -1
    law : (n_parts,) int array, which interval law a part uses; law 0 when absent

    Returns
    -------
    ServiceLevels : (n_parts, levels) arrays

    Raises
    ------
    ValueError : fewer than one level, a quantity below 1

    Source: as ``policy_service``.

    >>> from inventory.planning.demand import TableSizes
    >>> asks = Demand.of([1.0], TableSizes.of([0, 1.0]))
    >>> service_levels(asks, Interval.of([1.0]), order_quantity=1, levels=3).unit_fill.round(4)
    array([[0.    , 0.3679, 0.7358]])
    """
    if levels < 1:
        raise ValueError(f"levels must be at least 1; got {levels}")
    task = checked_task(demand, interval, order_quantity, law)
    points = np.broadcast_to(np.arange(-1, levels - 1), (len(task.law), levels))
    found = {name: np.zeros(points.shape) for name in FIGURES}
    length, everything = Lengths.of(task, points[:, -1]).first, np.arange(len(points))
    for batch, curves in curve_batches(task, everything, length):
        for level in range(levels):
            chosen = points[batch.rows, level] // batch.step
            for name, figure in figures(task, curves, batch, chosen).items():
                found[name][batch.rows, level] = figure
    del found["reorder_point"]
    return ServiceLevels(reorder_point=points, **found)


def checked_task(
    demand: Demand, interval: Interval, order_quantity: ArrayLike, law: ArrayLike | None
) -> Task:
    row = interval_rows(law, demand, interval)
    quantity = checks.counts(order_quantity, "order quantity", least=1)
    return Task.of(demand, interval, row, np.broadcast_to(quantity, row.shape))


Choice = Callable[[Curves, Batch], IntArray]


def solved(task: Task, choose: Choice, *, highest: IntArray | None) -> Policy:
    """Policies of all parts: those whose law was cut too short are done again on a longer one."""
    found = {name: np.zeros(len(task.law)) for name in FIGURES}
    lengths = Lengths.of(task, highest)
    length, pending = lengths.first, np.arange(len(task.law))
    while len(pending):
        cut_short = []
        for batch, curves in curve_batches(task, pending, length[pending]):
            chosen = choose(curves, batch)
            whole = length[batch.rows] >= lengths.whole[batch.rows]
            cut_short.append(batch.rows[~curves.long_enough(chosen, whole)])
            for name, figure in figures(task, curves, batch, chosen).items():
                found[name][batch.rows] = figure
        pending = np.concatenate(cut_short)
        length[pending] *= 4
    return Policy(
        reorder_point=found.pop("reorder_point").astype(np.int64),
        order_quantity=task.order_quantity,
        mean_demand=task.mean,
        deviation_of_demand=np.sqrt(task.variance),
        **found,
    )


FIGURES = (*MEASURES, "reorder_point", "mean_on_hand", "mean_backorders")


def figures(
    task: Task, curves: Curves, batch: Batch, chosen: IntArray
) -> dict[str, FloatArray | IntArray]:
    position = (chosen + (curves.order_quantity + 1) / 2) * batch.step
    on_hand = np.maximum(curves.mean_on_hand(chosen) * batch.step, 0)
    backorders = on_hand - position + task.mean[batch.rows]
    return {measure: curves.service(measure, chosen) for measure in MEASURES} | {
        "reorder_point": np.where(chosen < 0, -1, chosen * batch.step),
        "mean_on_hand": on_hand,
        "mean_backorders": np.maximum(backorders, 0),
    }
