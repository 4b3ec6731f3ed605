"""Reorder points from a table of usage: checks what was asked for and puts it to the arithmetic.

No database and no screen: the command that reads the file and prints the lines is ``plan_usage``.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, fields
from typing import Any

import numpy as np

from inventory.planning.interval import Interval
from inventory.planning.order_size import order_size
from inventory.planning.policy import Measure, Policy, reorder_point
from inventory.planning.totals import TotalsUsage, totals_usage
from inventory.reorder.usage_table import UsageTable

DAYS_IN = {"day": 1.0, "week": 7.0, "month": 30.0}
DAYS_IN_YEAR = 365.0
# Seven months: the half-life that held the least stock on months 1-39 of the car-parts history.
HALF_LIFE_DAYS = 210.0
PARTS_AT_A_TIME = 5000
PERSONS_MEASURES = ("unit_fill", "job_fill")


class UsagePlanError(ValueError):
    """The options cannot be planned with; its text says which and what next."""


@dataclass(frozen=True, slots=True, kw_only=True)
class UsageOptions:
    """What to plan for; money in any one unit, the holding rate per year of the unit cost."""

    period: str = "month"
    lead_days: float = 7.0
    review_days: float = 7.0
    targets: tuple[float, ...] = (0.95,)
    measure: Measure = "job_fill"
    order_cost: float = 0.0
    unit_cost: float | None = None
    holding_rate: float | None = None

    def check(self) -> None:
        """Refuse what cannot be planned with, in one sentence."""
        if self.period not in DAYS_IN:
            raise UsagePlanError(f"--period must be day, week or month; got {self.period!r}.")
        if self.measure not in PERSONS_MEASURES:
            raise UsagePlanError(f"--measure must be unit_fill or job_fill; got {self.measure!r}.")
        if not self.targets:
            raise UsagePlanError("--target needs at least one number between 0 and 1.")
        for target in self.targets:
            if not 0 < target < 1:
                raise UsagePlanError(f"--target must be between 0 and 1; got {target:g}.")
        self.check_amounts()

    def check_amounts(self) -> None:
        for option in ("lead_days", "review_days", "order_cost", "unit_cost", "holding_rate"):
            amount = getattr(self, option)
            if amount is not None and not 0 <= amount < np.inf:
                name = option.replace("_", "-")
                raise UsagePlanError(f"--{name} must be 0 or more; got {amount:g}.")
        if self.order_cost > 0 and not (self.unit_cost and self.holding_rate):
            raise UsagePlanError(
                "An --order-cost above 0 needs a --unit-cost and a --holding-rate above 0."
            )

    @property
    def period_days(self) -> float:
        return DAYS_IN[self.period]


@dataclass(frozen=True, slots=True, kw_only=True)
class UsageLine:
    """What one part needs to reach one target; pieces, shares from 0 to 1."""

    part: str
    target: float
    rate_per_period: float
    asks_per_period: float
    variance_ratio: float
    demand_over_wait: float
    deviation_over_wait: float
    reorder_point: int
    order_quantity: int
    ready_rate: float
    unit_fill: float
    job_fill: float
    mean_on_hand: float
    mean_backorders: float
    note: str


LINE_FIELDS = tuple(field.name for field in fields(UsageLine))


def usage_lines(
    table: UsageTable, options: UsageOptions, *, tell: Callable[[int], None] = lambda done: None
) -> Iterator[UsageLine]:
    """A line for each part and target, in the order of the table; tell gets the parts done."""
    options.check()
    learned = totals_usage(table.pieces, half_life_periods=HALF_LIFE_DAYS / options.period_days)
    for start in range(0, len(table.parts), PARTS_AT_A_TIME):
        some = slice(start, start + PARTS_AT_A_TIME)
        parts = table.parts[some]
        yield from lines_of(parts, part_of(learned, some), options)
        tell(start + len(parts))


def part_of(learned: TotalsUsage, some: slice) -> TotalsUsage:
    arrays = {
        field.name: getattr(learned, field.name)[some]
        for field in fields(learned)
        if isinstance(getattr(learned, field.name), np.ndarray)
    }
    return TotalsUsage(
        prior_pieces=learned.prior_pieces, prior_periods=learned.prior_periods, **arrays
    )


def lines_of(parts: list[str], learned: TotalsUsage, options: UsageOptions) -> Iterator[UsageLine]:
    demand = learned.demand(period_days=options.period_days)
    interval = Interval.of([options.lead_days], review_days=options.review_days)
    quantity = order_quantities(learned, options)
    policies = [
        reorder_point(
            demand, interval, order_quantity=quantity, target=target, measure=options.measure
        )
        for target in options.targets
    ]
    asks = learned.asks_per_period
    for row, part in enumerate(parts):
        for target, policy in zip(options.targets, policies, strict=True):
            figures = figures_of(policy, row)
            yield UsageLine(
                part=part,
                target=target,
                rate_per_period=float(learned.pieces_per_period[row]),
                asks_per_period=float(asks[row]),
                variance_ratio=float(learned.variance_ratio[row]),
                note=note_on(learned, row, figures["reorder_point"], figures["order_quantity"]),
                **figures,
            )


def order_quantities(learned: TotalsUsage, options: UsageOptions) -> np.ndarray[Any, Any]:
    if options.order_cost == 0:
        return np.ones(len(learned.pieces_per_period), dtype=np.int64)
    return order_size(
        fixed_cost=options.order_cost,
        holding_rate=options.holding_rate or 0.0,
        demand_per_year=learned.pieces_per_period * DAYS_IN_YEAR / options.period_days,
        from_quantity=[0.0],
        unit_cost=[options.unit_cost or 0.0],
    ).quantity


def figures_of(policy: Policy, row: int) -> dict[str, Any]:
    return {
        "reorder_point": int(policy.reorder_point[row]),
        "order_quantity": int(policy.order_quantity[row]),
        "demand_over_wait": float(policy.mean_demand[row]),
        "deviation_over_wait": float(policy.deviation_of_demand[row]),
        "ready_rate": float(policy.ready_rate[row]),
        "unit_fill": float(policy.unit_fill[row]),
        "job_fill": float(policy.job_fill[row]),
        "mean_on_hand": float(policy.mean_on_hand[row]),
        "mean_backorders": float(policy.mean_backorders[row]),
    }


def note_on(learned: TotalsUsage, row: int, reorder_point: int, order_quantity: int) -> str:
    if learned.pieces_per_period[row] == 0:
        return "Nothing was used in the whole table: bought when asked."
    if learned.remembered_periods[row] == 0:
        return "No period is known: planned like the other parts of the table."
    if learned.remembered_pieces[row] == 0:
        return "Not used in the periods known: planned from what the other parts lend it."
    if reorder_point < 0:
        # With one piece an order the shelf stays bare; with more, what is left over waits there.
        return (
            "Bought when asked." if order_quantity == 1 else "Ordered when asked and none is here."
        )
    return ""
