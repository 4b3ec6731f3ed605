"""Where the next dollar on the shelf goes: money against jobs served, and the plan for a budget."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from django.db.models import Sum

from inventory.ledger.models import Lot
from inventory.planning.budget import BudgetPlan, Ladder, budget_plan, ladder, shelf_curve
from inventory.reorder.inputs.facts import Floats, Ints
from inventory.reorder.job_waits import WholeJobs, whole_jobs
from inventory.reorder.models import PlanLine, PlanRun
from inventory.reorder.shelf_levels import ShelfLevels, read_levels
from inventory.shop.amounts import MINUS, money_text, percent_text
from inventory.shop.models import ShopSettings, Site
from inventory.templatetags.charts import Line, LineChart

STEPS_TOLD, CHANGES_TOLD = 10, 40
POINTS_DRAWN = 60
# The curve is drawn as far as a few times the money that is marked on it; beyond it is flat.
TIMES_DRAWN = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One part from a reorder point to another: what it costs and how many asks it serves."""

    line: PlanLine
    before: int
    after: int
    cents: int
    asks: float

    @property
    def asks_text(self) -> str:
        return f"{self.asks:+.1f}".replace("-", MINUS)


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """Money on the shelf on average, and the share of asks it serves."""

    cents: int
    share: float

    @property
    def percent(self) -> str:
        return percent_text(self.share, 1)


@dataclass(frozen=True, slots=True, kw_only=True)
class NextDollar:
    run: PlanRun
    now: Placed
    lying_cents: int
    steps: list[Step]
    picture: LineChart
    jobs: WholeJobs | None
    budget_cents: int | None
    goals_cents: int
    then: Placed | None
    changes: list[Step]

    @property
    def is_below_goals(self) -> bool:
        """Whether parts with a goal of their own hold more than the budget by themselves."""
        return self.budget_cents is not None and self.budget_cents < self.goals_cents


def next_dollar(
    run: PlanRun, site: Site, shop: ShopSettings, *, budget_cents: int | None
) -> NextDollar | None:
    """None where the plan found nothing that anybody asks for."""
    levels = read_levels(run, site)
    if not len(levels.line):
        return None
    steps = ladder(levels.cents, levels.filled)
    now = placed(levels, levels.now)
    least = float(levels.cents[:, 0].sum())
    chosen = None if budget_cents is None else budget_plan(steps, budget=max(budget_cents, least))
    then = None if chosen is None else placed(levels, chosen.level)
    lots = Lot.objects.usable().filter(shelf__site=site)
    return NextDollar(
        run=run,
        now=now,
        lying_cents=lots.aggregate(cents=Sum("cents_left", default=0))["cents"],
        steps=list(told(levels, levels.now, *best_steps(levels))),
        picture=picture(levels, steps, now, then, shop),
        jobs=whole_jobs(run, site),
        budget_cents=budget_cents,
        goals_cents=round(least),
        then=then,
        changes=[] if chosen is None else list(changed(levels, chosen)),
    )


def placed(levels: ShelfLevels, level: Ints) -> Placed:
    row = np.arange(len(level))
    return Placed(
        cents=round(float(levels.cents[row, level].sum())),
        share=float(levels.filled[row, level].sum() / levels.asks.sum()),
    )


def best_steps(levels: ShelfLevels) -> tuple[Ints, Ints]:
    """Rows whose next level above the plan's serves most asks for a dollar, and that level."""
    row = np.arange(len(levels.now))
    after = np.minimum(levels.now + 1, levels.point.shape[1] - 1)
    asks = levels.filled[row, after] - levels.filled[row, levels.now]
    cents = levels.cents[row, after] - levels.cents[row, levels.now]
    worth: Floats = np.where(cents > 0, asks / np.maximum(cents, 1e-9), 0.0)
    best = np.argsort(-worth, kind="stable")[:STEPS_TOLD]
    best = best[worth[best] > 0]
    return best, after[best]


def changed(levels: ShelfLevels, plan: BudgetPlan) -> Iterator[Step]:
    """What a budget would change, the most money first."""
    row = np.arange(len(levels.now))
    # Of a part with a goal of its own the levels below the plan's are the plan's.
    same = levels.cents[row, plan.level] == levels.cents[row, levels.now]
    rows = np.flatnonzero((plan.level != levels.now) & ~same)
    moved = levels.cents[rows, plan.level[rows]] - levels.cents[rows, levels.now[rows]]
    most = rows[np.argsort(-np.abs(moved), kind="stable")[:CHANGES_TOLD]]
    yield from told(levels, levels.now, most, plan.level[most])


def told(levels: ShelfLevels, now: Ints, rows: Ints, after: Ints) -> Iterator[Step]:
    lines = PlanLine.objects.select_related("part").in_bulk(levels.line[rows].tolist())
    for row, to in zip(rows.tolist(), after.tolist(), strict=True):
        at = now[row]
        yield Step(
            line=lines[int(levels.line[row])],
            before=int(levels.point[row, at]),
            after=int(levels.point[row, to]),
            cents=round(float(levels.cents[row, to] - levels.cents[row, at])),
            asks=float(levels.filled[row, to] - levels.filled[row, at]),
        )


def picture(
    levels: ShelfLevels, steps: Ladder, now: Placed, then: Placed | None, shop: ShopSettings
) -> LineChart:
    """The best share that any money reaches, with the plan or the budget marked on it."""
    curve, unit = shelf_curve(steps), 10.0**shop.minor_digits
    marked, words = (now, "the plan") if then is None else (then, "this budget")
    end = np.searchsorted(curve.money, TIMES_DRAWN * max(now.cents, marked.cents))
    at = np.unique(np.linspace(0, min(int(end), len(curve.money) - 1), POINTS_DRAWN).round())
    points = [
        (round(float(curve.money[n]) / unit), 100 * float(curve.worth[n] / levels.asks.sum()))
        for n in at.astype(int)
    ]
    return LineChart(
        title="Asks filled from the shelf, against money on it",
        description=f"The plan holds {money_text(now.cents, shop)} on average and fills "
        f"{now.percent}; {points[-1][0]:,} {shop.currency} placed best would fill "
        f"{points[-1][1]:.1f}%.",
        x_label=f"{shop.currency} on the shelf on average",
        y_label="asks filled, %",
        lines=[Line(label="placed best", points=points)],
        spots=[(marked.cents / unit, 100 * marked.share, f"{words}: {marked.percent}")],
        y_top=100,
    )
