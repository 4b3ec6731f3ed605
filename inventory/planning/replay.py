"""The past played again under given reorder points: what would have been there for each ask.

One day after another, all parts at once. Which reorder points a plan would have chosen on a day is
``policy``; this module only lets them work on the asks that really came.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inventory.planning import checks
from inventory.planning.checks import FloatArray, IntArray


@dataclass(frozen=True, slots=True, kw_only=True)
class PastAsks:
    """Asks in the order in which they came; day 0 is the first day played."""

    part: IntArray
    day: IntArray
    pieces: IntArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Rules:
    """Reorder points of a stretch of days, from its first day on; arrays with one entry a part.

    law : which law of waits a part's orders follow
    """

    first_day: int
    reorder_point: IntArray
    order_quantity: IntArray
    law: IntArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Replayed:
    """
    had : (n_asks,) pieces on the shelf when each ask came
    filled : (n_asks,) whether its whole quantity was there
    on_hand : (n_parts, n_days) pieces at the end of each day
    """

    had: IntArray
    filled: NDArray[np.bool_]
    on_hand: IntArray


def replay(
    on_hand: IntArray,
    asks: PastAsks,
    rules: Sequence[Rules],
    waits: FloatArray,
    *,
    n_days: int,
    rng: np.random.Generator,
) -> Replayed:
    """Play the asks of the past against rules that reorder.

    What is ordered at the end of a day is on the shelf at the opening of a later one. An ask that
    finds too few takes what is there; the rest is bought in and touches the shelf no more.

    Parameters
    ----------
    on_hand : (n_parts,) pieces at the opening of day 0
    asks : asks by day, none after the last
    rules : stretches of days with their reorder points, the first from day 0 on
    waits : (n_laws, n_waits) chances that an order is on the shelf after 0, 1, 2 … days
    n_days : days to play
    rng : draws the waits

    Returns
    -------
    Replayed

    Raises
    ------
    ValueError : asks out of order or outside the days, rules that leave day 0 out

    Source: discrete event simulation of the (R, nQ) rule, Axsäter (2015), Inventory Control,
    3rd ed., section 3.2.

    >>> asks = PastAsks(part=np.array([0, 0]), day=np.array([0, 3]), pieces=np.array([2, 2]))
    >>> rule = Rules(first_day=0, reorder_point=np.array([0]), order_quantity=np.array([1]),
    ...              law=np.array([0]))
    >>> played = replay(np.array([2]), asks, [rule], np.array([[0, 1.0]]), n_days=4,
    ...                 rng=np.random.default_rng(1))
    >>> played.filled, played.had, played.on_hand
    (array([ True, False]), array([2, 1]), array([[0, 1, 1, 0]]))
    """
    check(asks, rules, waits, n_days)
    shelf = np.array(on_hand, dtype=np.int64)
    coming = np.zeros((len(shelf), n_days + waits.shape[1] + 1), dtype=np.int64)
    on_order = np.zeros_like(shelf)
    ends = np.zeros((len(shelf), n_days), dtype=np.int64)
    had = np.zeros(len(asks.part), dtype=np.int64)
    reached = waits.cumsum(axis=1)
    first_ask = np.searchsorted(asks.day, np.arange(n_days + 1))
    stretch = np.searchsorted([rule.first_day for rule in rules], np.arange(n_days), "right") - 1
    for day in range(n_days):
        shelf += coming[:, day]
        on_order -= coming[:, day]
        for ask in range(first_ask[day], first_ask[day + 1]):
            part = asks.part[ask]
            had[ask] = shelf[part]
            shelf[part] = max(0, shelf[part] - asks.pieces[ask])
        ends[:, day] = shelf
        rule = rules[stretch[day]]
        short = np.flatnonzero(shelf + on_order <= rule.reorder_point)
        quantity = rule.order_quantity[short]
        missing = rule.reorder_point[short] + 1 - shelf[short] - on_order[short]
        ordered = -(-missing // quantity) * quantity
        wait = (rng.random(len(short))[:, None] > reached[rule.law[short]]).sum(axis=1)
        np.add.at(coming, (short, day + np.clip(wait, 1, waits.shape[1])), ordered)
        on_order[short] += ordered
    return Replayed(had=had, filled=had >= asks.pieces, on_hand=ends)


def check(asks: PastAsks, rules: Sequence[Rules], waits: FloatArray, n_days: int) -> None:
    if (np.diff(asks.day) < 0).any():
        raise ValueError("asks must be in the order of their days")
    if len(asks.day) and not 0 <= asks.day[0] <= asks.day[-1] < n_days:
        raise ValueError(
            f"asks must fall on days 0 to {n_days - 1}; got {asks.day[0]} to {asks.day[-1]}"
        )
    if not rules or rules[0].first_day != 0:
        raise ValueError("the first rules must hold from day 0 on")
    checks.chances(waits, "chances of the waits")
