"""What each part of a plan would serve and cost at every reorder point worth looking at."""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from inventory.planning.demand import Demand, TableSizes
from inventory.planning.interval import Interval
from inventory.planning.policy import policy_service, service_levels
from inventory.reorder.inputs.facts import Floats, Ints
from inventory.reorder.models import PlanLine, PlanRun
from inventory.shop.models import Site

LEVELS = 20
ABOVE_NOW = 6
DAYS_A_YEAR = 365.0
COLUMNS = ("pk", "asks", "reorder_point", "order_quantity", "supplier_id", "figures")
NEEDED = {"rate_shape", "sizes", "unit_cents"}


@dataclass(frozen=True, slots=True, kw_only=True)
class ShelfLevels:
    """
    line : (n,) keys of plan lines
    point : (n, LEVELS) reorder points, from -1 (bought when asked) up
    now : (n,) the level that the plan chose, or the last one below it
    asks : (n,) a year, without those that other parts send on, which are asks of theirs
    filled : (n, LEVELS) asks a year that find all they need on the shelf; above `now` less those
        that another part stands in for, which count there
    cents : (n, LEVELS) money on the shelf on average

    A goal of the part's own is kept to: no level fills or costs less than `now`, or, of what is
    bought when asked by it, more than nothing.
    """

    line: Ints
    point: Ints
    now: Ints
    asks: Floats
    filled: Floats
    cents: Floats


def read_levels(run: PlanRun, site: Site) -> ShelfLevels:
    """All parts that somebody may ask for. What is bought when asked holds and serves nothing."""
    lines = PlanLine.objects.filter(run=run, site=site, asks__gt=0).order_by("pk")
    rows = [row for row in lines.values_list(*COLUMNS) if row[-1].keys() >= NEEDED]
    number, asks, chosen, quantity, supplier, figures = (
        list(column) for column in (zip(*rows, strict=True) if rows else [()] * len(COLUMNS))
    )
    point, now = levels_of(np.array(chosen, dtype=np.int64))
    a_year = np.array(asks, dtype=np.float64) * DAYS_A_YEAR / 7
    sent_on = np.array([behind.get("sent_on", 0.0) for behind in figures]) * DAYS_A_YEAR / 7
    unit_cents = np.array([behind["unit_cents"] for behind in figures], dtype=np.float64)
    found = ShelfLevels(
        line=np.array(number, dtype=np.int64),
        point=point,
        now=now,
        asks=a_year - sent_on,
        filled=np.zeros(point.shape),
        cents=np.zeros(point.shape),
    )
    if rows:
        past = _Past(
            rate=a_year / DAYS_A_YEAR,
            rate_shape=np.array([behind["rate_shape"] for behind in figures]),
            sizes=sizes_of(figures),
            quantity=np.array(quantity, dtype=np.int64),
            **laws_of(run, supplier),
        )
        fill, on_hand = served(past, point)
        sends_on = np.array([behind.get("sends_on", 0.0) for behind in figures])
        found.filled[:, 1:] = fill[:, 1:] * a_year[:, None]
        found.filled[:] = once_each(found.filled, now, a_year, sends_on * DAYS_A_YEAR / 7)
        found.cents[:, 1:] = on_hand[:, 1:] * unit_cents[:, None]
        goal = np.array(["goal" in behind for behind in figures])
        for levels in (found.filled, found.cents):
            levels[:] = kept_to(levels, now, goal)
    return found


def once_each(filled: Floats, now: Ints, asks: Floats, sends_on: Floats) -> Floats:
    """What more is filled, less the share of it that another part fills already.

    >>> once_each(np.array([[0, 6.0, 10.0]]), np.array([1]), np.array([10.0]), np.array([2.0]))
    array([[0., 6., 8.]])
    """
    at_now = np.take_along_axis(filled, now[:, None], axis=1)
    missed = np.maximum(asks[:, None] - at_now, 1e-12)
    taken = np.minimum(sends_on[:, None] / missed, 1.0)
    return np.asarray(filled - taken * np.maximum(filled - at_now, 0))


def kept_to(levels: Floats, now: Ints, goal: NDArray[np.bool_]) -> Floats:
    """Levels of parts with a goal of their own begin at the plan's; there are none above nothing.

    >>> levels = np.array([[0, 1.0, 2.0], [0, 1.0, 2.0], [0, 1.0, 2.0]])
    >>> kept_to(levels, np.array([1, 0, 1]), np.array([True, True, False]))
    array([[1., 1., 2.],
           [0., 0., 0.],
           [0., 1., 2.]])
    """
    at_now = np.take_along_axis(levels, now[:, None], axis=1)
    bound = np.where(now[:, None] > 0, np.maximum(levels, at_now), 0.0)
    return np.where(goal[:, None], bound, levels)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Past:
    """The laws that the plan used, a row a part."""

    rate: Floats
    rate_shape: Floats
    sizes: TableSizes
    quantity: Ints
    interval: Interval
    law: Ints

    def rows(self, rows: Ints) -> tuple[Demand, Ints, Ints]:
        sizes = TableSizes(pmf=self.sizes.pmf, table=self.sizes.table[rows])
        demand = Demand.of(self.rate[rows], sizes, rate_shape=self.rate_shape[rows])
        return demand, self.quantity[rows], self.law[rows]


def served(past: _Past, point: Ints) -> tuple[Floats, Floats]:
    """Job fill and stock on average at every level; level 0 is nobody's business here."""
    fill, on_hand = np.zeros(point.shape), np.zeros(point.shape)
    single = point[:, 1] == 0
    if single.any():
        rows = np.flatnonzero(single)
        demand, quantity, law = past.rows(rows)
        levels = service_levels(
            demand, past.interval, order_quantity=quantity, levels=LEVELS, law=law
        )
        fill[rows], on_hand[rows] = levels.job_fill, levels.mean_on_hand
    if not single.all():
        few = np.flatnonzero(~single)
        demand, quantity, law = past.rows(np.repeat(few, LEVELS))
        found = policy_service(
            demand,
            past.interval,
            reorder_point=point[few].ravel(),
            order_quantity=quantity,
            law=law,
        )
        shape = (len(few), LEVELS)
        fill[few] = found.job_fill.reshape(shape)
        on_hand[few] = found.mean_on_hand.reshape(shape)
    return fill, on_hand


def levels_of(chosen: Ints) -> tuple[Ints, Ints]:
    """Reorder points -1, 0 … a few above the chosen one, further apart where there are many.

    >>> points, now = levels_of(np.array([2, 200]))
    >>> points[0, :4].tolist(), points[1, :4].tolist(), now.tolist()
    ([-1, 0, 1, 2], [-1, 10, 21, 32], [3, 18])
    """
    step = np.maximum(1, -(-(chosen + 1 + ABOVE_NOW) // (LEVELS - 1)))[:, None]
    point = np.arange(LEVELS) * step - 1
    return point, np.asarray((chosen + 1) // step[:, 0])


def laws_of(run: PlanRun, suppliers: Sequence[int | None]) -> dict[str, Any]:
    laws: dict[str, Any] = run.figures["laws"]
    names = list(laws)
    longest = max(len(law["days"]) for law in laws.values())
    days, chance = np.zeros((len(laws), longest)), np.zeros((len(laws), longest))
    for row, law in enumerate(laws.values()):
        days[row, : len(law["days"])] = [float(day) for day in law["days"]]
        chance[row, : len(law["days"])] = list(law["days"].values())
    # Chances were rounded when they were written down.
    interval = Interval.of(
        days,
        chance / chance.sum(axis=1, keepdims=True),
        review_days=[law["review_days"] for law in laws.values()],
    )
    law = np.array([names.index(str(supplier)) for supplier in suppliers])
    return {"interval": interval, "law": law}


def sizes_of(figures: Sequence[dict[str, Any]]) -> TableSizes:
    """Most parts share the sizes of their kind, so each law is kept once."""
    told = [json.dumps(behind["sizes"]) for behind in figures]
    tables = {text: number for number, text in enumerate(dict.fromkeys(told))}
    laws = [{int(size): chance for size, chance in json.loads(text).items()} for text in tables]
    pmf = np.zeros((len(laws), 1 + max(max(law) for law in laws)))
    for row, law in enumerate(laws):
        pmf[row, list(law)] = list(law.values())
    return TableSizes.of(pmf / pmf.sum(axis=1, keepdims=True), [tables[text] for text in told])
