"""Service against reorder point, for many parts at a time: the kernel under ``policy``.

Laws of demand are inverted by fast Fourier transforms on short arrays, each part on one as short as
its reorder point allows; parts of one length are worked on together. Nothing here checks its
inputs: ``policy`` is the door.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import NDArray

from inventory.planning.checks import ComplexArray, FloatArray, IntArray
from inventory.planning.demand import (
    NODE_COUNTS,
    Demand,
    damped_circle,
    demand_moments,
    mixed_transforms,
    pmf_on_circle,
    reach,
)
from inventory.planning.interval import Interval

SHORTEST = 16
# Beyond this length a law is read in steps of many pieces, one in eight thousand of its length.
# Steps are never short, so that sizes which share a divisor (always four) cannot resonate.
LONGEST_EXACT = 1 << 15
LONGEST_IN_STEPS = 1 << 13
SHORTEST_STEP = 64
# Transforms worked on at a time: about a megabyte, so that they stay in the processor's cache.
CELLS_AT_A_TIME = 1 << 16
# Deviations above the mean beyond which a law of demand holds less than one in a million.
WHOLE_LAW = 16.0
FIRST_GUESS = 2.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """What is asked of the kernel, a row a part, with the moments it needs again and again."""

    demand: Demand
    interval: Interval
    law: IntArray
    order_quantity: IntArray
    mean_size: FloatArray
    mean: FloatArray
    variance: FloatArray

    @classmethod
    def of(
        cls, demand: Demand, interval: Interval, law: IntArray, order_quantity: IntArray
    ) -> Self:
        days = interval.mean_days[law], interval.variance_days[law]
        mean, variance = demand_moments(demand, *days)
        return cls(
            demand=demand,
            interval=interval,
            law=law,
            order_quantity=order_quantity,
            mean_size=demand.sizes.mean,
            mean=mean,
            variance=variance,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Lengths:
    """How long an array of chances each part needs, pieces."""

    first: FloatArray
    whole: FloatArray

    @classmethod
    def of(cls, task: Task, highest: IntArray | None) -> Self:
        mean, deviation = moments_as_asked(task)
        size, square = task.mean_size, task.demand.sizes.mean_square
        size_deviation = np.sqrt(np.maximum(square - size**2, 0))
        whole = mean + size + WHOLE_LAW * (deviation + size_deviation) + SHORTEST
        guess = mean + size + FIRST_GUESS * deviation
        top = (guess if highest is None else highest) + task.order_quantity + 2.0
        return cls(first=np.minimum(top, whole), whole=whole)


def moments_as_asked(task: Task) -> tuple[FloatArray, FloatArray]:
    """Mean and deviation of demand over the interval before an ask, which is news of the rate."""
    demand = task.demand
    seen = Demand(
        asks_per_day=demand.asks_per_day * (1 + 1 / demand.rate_shape),
        rate_shape=demand.rate_shape + 1,
        sizes=demand.sizes,
    )
    days = task.interval.mean_days[task.law], task.interval.variance_days[task.law]
    mean, variance = demand_moments(seen, *days)
    return mean, np.sqrt(variance)


@dataclass(frozen=True, slots=True, kw_only=True)
class Batch:
    """Parts worked on together: the same length, step and number of nodes."""

    rows: IntArray
    length: int
    step: int
    nodes: int


def batches(task: Task, pending: IntArray, length: FloatArray) -> Iterator[Batch]:
    step = np.ones(len(pending))
    far = length > LONGEST_EXACT
    step[far] = np.maximum(SHORTEST_STEP, length[far] / LONGEST_IN_STEPS)
    step_power = power_of_two(step)
    length_power = power_of_two(np.maximum(length / 2.0**step_power, SHORTEST))
    spread = task.interval.spread_days[task.law[pending]]
    reaches = [reach(count) for count in NODE_COUNTS[:-1]]
    nodes = np.searchsorted(reaches, task.demand.asks_per_day[pending] * spread)
    kind = ((length_power * 64 + step_power) * len(NODE_COUNTS) + nodes).astype(np.int16)
    order = np.argsort(kind, kind="stable")
    _, starts = np.unique(kind[order], return_index=True)
    for same in np.split(order, starts[1:]):
        first, size = same[0], 1 << int(length_power[same[0]])
        at_a_time = max(1, CELLS_AT_A_TIME // (size // 2 + 1))
        for start in range(0, len(same), at_a_time):
            yield Batch(
                rows=pending[same[start : start + at_a_time]],
                length=size,
                step=1 << int(step_power[first]),
                nodes=NODE_COUNTS[nodes[first]],
            )


def power_of_two(least: FloatArray) -> IntArray:
    """The exponent of the smallest power of two that is not below."""
    return np.asarray(np.ceil(np.log2(least)), dtype=np.int64)


@dataclass(frozen=True, slots=True, kw_only=True)
class Curves:
    """Running sums over the position y of service at y, (parts, length + 1), the first one 0."""

    running: dict[str, FloatArray]
    on_hand: FloatArray
    order_quantity: IntArray

    @property
    def length(self) -> int:
        return int(self.on_hand.shape[1]) - 1

    def long_enough(self, chosen: IntArray, whole: NDArray[np.bool_]) -> NDArray[np.bool_]:
        """Whether the law was read far enough for the positions above the chosen point."""
        inside = chosen + self.order_quantity < self.length
        return np.asarray(inside | (whole & (chosen < self.length - 1)))

    def service(self, measure: str, reorder_point: IntArray) -> FloatArray:
        """Mean of a measure over positions R+1 … R+Q."""
        curve = self.running[measure]
        upper = value_at(curve, reorder_point + self.order_quantity)
        lower = value_at(curve, reorder_point)
        return np.asarray(np.clip((upper - lower) / self.order_quantity, 0, 1))

    def mean_on_hand(self, reorder_point: IntArray) -> FloatArray:
        upper = self._on_hand_up_to(reorder_point + self.order_quantity)
        return np.asarray((upper - self._on_hand_up_to(reorder_point)) / self.order_quantity)

    def _on_hand_up_to(self, position: IntArray) -> FloatArray:
        end = self.length - 1
        beyond = np.maximum(position - end, 0)
        # Past the end nobody is turned away, so that each further position holds one piece more.
        more = beyond * self.running["ready_rate"][:, -1] + beyond * (beyond + 1) / 2
        return np.asarray(taken(self.on_hand, np.minimum(position, end)) + more)

    def smallest(self, measure: str, goal: FloatArray) -> IntArray:
        """The smallest reorder point whose service reaches the goal; length - 1 when none does."""
        below = np.full(len(goal), -2)
        above = np.full(len(goal), self.length - 1)
        while (above - below > 1).any():
            middle = np.maximum((below + above) // 2, -1)
            reached = self.service(measure, middle) >= goal
            above = np.where(reached, middle, above)
            below = np.where(reached, below, middle)
        return above


def value_at(curve: FloatArray, position: IntArray) -> FloatArray:
    """The running sum at a position; past the end every further position adds 1."""
    end = curve.shape[1] - 2
    return np.asarray(taken(curve, np.minimum(position, end)) + np.maximum(position - end, 0))


def taken(curve: FloatArray, position: IntArray) -> FloatArray:
    """One position a part, or several: rows of one position a part below each other."""
    return np.asarray(curve[np.arange(len(curve)), position + 1])


def curve_batches(
    task: Task, pending: IntArray, length: FloatArray
) -> Iterator[tuple[Batch, Curves]]:
    """Curves of the pending parts, batch by batch."""
    rules: dict[int, tuple[FloatArray, FloatArray]] = {}
    for batch in batches(task, pending, length):
        if batch.nodes not in rules:
            rules[batch.nodes] = task.interval.nodes(batch.nodes)
        yield batch, curves_of(task, batch, *rules[batch.nodes])


def curves_of(task: Task, batch: Batch, days: FloatArray, weight: FloatArray) -> Curves:
    """The curves of a batch; days and weight are the nodes of every interval law."""
    z, radius = damped_circle(batch.length, batch.step)
    law = task.law[batch.rows]
    size = task.demand.sizes.transform(z, batch.rows)
    odds = 1 - size
    now, asked = mixed_transforms(task.demand, odds, batch.rows, days[law], weight[law])
    mean_size = task.mean_size[batch.rows][:, None]
    still_open = odds * (z / (1 - z)) / mean_size
    ready = running_sums(now * z, radius, batch.length)
    return Curves(
        running={
            "ready_rate": ready,
            "unit_fill": running_sums(asked * still_open, radius, batch.length),
            "job_fill": running_sums(asked * size, radius, batch.length),
        },
        on_hand=ready.cumsum(axis=1),
        order_quantity=np.maximum(1, task.order_quantity[batch.rows] // batch.step),
    )


def running_sums(transform: ComplexArray, radius: float, length: int) -> FloatArray:
    """Twice summed chances, with a 0 in front: sum over y' <= y of P(. <= y')."""
    chance = pmf_on_circle(transform, radius, length)
    sums = np.zeros((len(chance), length + 1))
    np.cumsum(chance, axis=1, out=sums[:, 1:])
    np.minimum(sums, 1, out=sums)
    np.cumsum(sums[:, 1:], axis=1, out=sums[:, 1:])
    return sums
