"""Many shops played side by side, one order day a week each: what the formulas must agree with.

Every order has a lead time of its own from the shop's law. The times of a law lie within a week of
each other, so that no order overtakes the one before it, as the formulas suppose. Sizes and lead
times are dealt, not drawn: as many of each as the law says, shuffled, so that little is left to
chance but the order in which they come.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

LONGEST_LEAD_DAYS = 21


@dataclass(frozen=True, slots=True, kw_only=True)
class Shops:
    """One part in each of n shops.

    rate : (n,) asks a day
    sizes : (n, 5) chances of an ask for 0 to 4 pieces
    lead : (n, LONGEST_LEAD_DAYS + 1) chances of a lead time of 0, 1, 2 … days
    """

    rate: Floats
    sizes: Floats
    lead: Floats
    reorder_point: Ints
    order_quantity: Ints


@dataclass(frozen=True, slots=True, kw_only=True)
class PlayedWeekly:
    unit_fill: Floats
    job_fill: Floats
    ready_rate: Floats
    mean_on_hand: Floats


def random_shops(rng: np.random.Generator, n: int) -> Shops:
    chances = rng.dirichlet([2, 1, 0.3, 1.5], n)
    soonest = rng.integers(0, 15, n)
    lead = np.zeros((n, LONGEST_LEAD_DAYS + 1))
    for shop in range(n):
        lead[shop, soonest[shop] : soonest[shop] + 8] = rng.dirichlet(np.full(8, 0.5))
    rate, pieces = rng.uniform(0.1, 0.8, n), chances @ [1, 2, 3, 4]
    wait = lead @ np.arange(LONGEST_LEAD_DAYS + 1) + 3.5
    return Shops(
        rate=rate,
        sizes=np.column_stack([np.zeros(n), chances]),
        lead=lead,
        # From a shelf that is often bare to one that hardly ever is.
        reorder_point=np.round(rate * pieces * wait * rng.uniform(0.5, 2.5, n)).astype(np.int64)
        - 1,
        order_quantity=rng.integers(1, 9, n),
    )


def play_weekly(rng: np.random.Generator, shops: Shops, *, weeks: int) -> PlayedWeekly:
    """Asks come at any time and wait where the shelf is empty; orders leave as each week ends."""
    asks = [asks_of(rng, shops, shop, 7.0 * weeks) for shop in range(len(shops.rate))]
    by_week = [np.bincount((at // 7).astype(int), size, minlength=weeks) for at, size in asks]
    ordered = orders(shops, np.stack(by_week).astype(np.int64))
    told = [
        told_of(rng, shops, shop, *asks[shop], ordered[shop]) for shop in range(len(shops.rate))
    ]
    return PlayedWeekly(
        **{name: np.array([each[name] for each in told]) for name in PlayedWeekly.__slots__}
    )


def asks_of(rng: np.random.Generator, shops: Shops, shop: int, days: float) -> tuple[Floats, Ints]:
    """Times of a Poisson process, given how many there are."""
    count = round(shops.rate[shop] * days)
    return np.sort(rng.uniform(0, days, count)), dealt(rng, shops.sizes[shop], count)


def dealt(rng: np.random.Generator, chances: Floats, count: int) -> Ints:
    """Values 0, 1, 2 … as often as their chances say, in any order."""
    last = np.round(chances.cumsum() * count).astype(np.int64)
    return rng.permutation(np.repeat(np.arange(len(chances)), np.diff(last, prepend=0)))


def orders(shops: Shops, asked: Ints) -> Ints:
    """(n, weeks) pieces ordered as each week ends: whole quantities, until above the point."""
    position = shops.reorder_point + shops.order_quantity
    ordered = np.zeros_like(asked)
    for week in range(asked.shape[1]):
        position = position - asked[:, week]
        missing = np.maximum(shops.reorder_point + 1 - position, 0)
        ordered[:, week] = -(-missing // shops.order_quantity) * shops.order_quantity
        position = position + ordered[:, week]
    return ordered


def told_of(
    rng: np.random.Generator, shops: Shops, shop: int, at: Floats, size: Ints, ordered: Ints
) -> dict[str, float]:
    weeks = len(ordered)
    lead = dealt(rng, shops.lead[shop], weeks)
    times = np.concatenate([at, 7.0 * np.arange(1, weeks + 1) + lead])
    order = np.argsort(times, kind="stable")
    change = np.concatenate([-size, ordered])[order]
    level = shops.reorder_point[shop] + shops.order_quantity[shop] + change.cumsum()
    lasted = np.diff(times[order], append=times[order[-1]])
    is_ask = order < len(at)
    there = np.maximum(level - change, 0)[is_ask]
    # Until the last week ends: what comes later meets no asks.
    lasted[times[order] > 7.0 * weeks] = 0
    return {
        "unit_fill": np.minimum(there, size).sum() / size.sum(),
        "job_fill": float((there >= size).mean()),
        "ready_rate": lasted[level > 0].sum() / lasted.sum(),
        "mean_on_hand": (lasted * np.maximum(level, 0)).sum() / lasted.sum(),
    }
