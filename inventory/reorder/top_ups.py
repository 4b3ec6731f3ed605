"""What to bring forward so that an order travels free, cheapest first. Pure arithmetic on lines.

Bringing an order forward costs holding what it buys for the weeks until it would be due anyway.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from inventory.reorder.models import PlanLine
from inventory.reorder.models.plan import WEEKS_A_YEAR

LONGEST_WEEKS = 52


@dataclass(frozen=True, slots=True, kw_only=True)
class TopUp:
    """One order quantity of a part, so many weeks before its time."""

    line: PlanLine
    packs: int
    value_cents: int
    weeks_early: float
    holding_cents: float

    @property
    def pieces(self) -> int:
        return self.packs * self.line.pack


@dataclass(frozen=True, slots=True, kw_only=True)
class TopUps:
    """What to bring forward, what that costs, and the freight it saves."""

    chosen: tuple[TopUp, ...]
    freight_cents: int

    @property
    def holding_cents(self) -> int:
        return round(sum(top_up.holding_cents for top_up in self.chosen))

    @property
    def value_cents(self) -> int:
        return sum(top_up.value_cents for top_up in self.chosen)

    @property
    def saved_cents(self) -> int:
        return self.freight_cents - self.holding_cents


def top_ups(
    missing_cents: int, freight_cents: int, lines: Iterable[PlanLine], holding_rate: float
) -> TopUps | None:
    """The parts that reach free freight at the least holding; None where that saves nothing."""
    found = [top_up for line in lines if (top_up := top_up_of(line, holding_rate))]
    # What is due soonest costs least to hold, a dollar.
    soonest = sorted(found, key=lambda top_up: (top_up.weeks_early, top_up.line.pk))
    chosen: list[TopUp] = []
    for top_up in soonest:
        if sum(one.value_cents for one in chosen) >= missing_cents:
            break
        chosen.append(top_up)
    needed = TopUps(chosen=tuple(_needed(chosen, missing_cents)), freight_cents=freight_cents)
    worth_it = needed.value_cents >= missing_cents and needed.saved_cents > 0
    return needed if worth_it else None


def top_up_of(line: PlanLine, holding_rate: float) -> TopUp | None:
    """One order quantity of a part that is kept and used; None for any other."""
    pieces_a_week = line.asks * line.size_mean
    if line.is_bought_when_asked or line.pack_price_cents is None or pieces_a_week <= 0:
        return None
    weeks = max(0, line.position - line.reorder_point) / pieces_a_week
    if weeks > LONGEST_WEEKS:
        return None
    packs = max(1, line.order_quantity // line.pack)
    value = packs * line.pack_price_cents
    return TopUp(
        line=line,
        packs=packs,
        value_cents=value,
        weeks_early=weeks,
        holding_cents=value * holding_rate * weeks / WEEKS_A_YEAR,
    )


def _needed(chosen: list[TopUp], missing_cents: int) -> list[TopUp]:
    """Without those that the others make needless, the dearest to hold left out first."""
    kept = list(chosen)
    for top_up in sorted(chosen, key=lambda one: -one.holding_cents):
        rest = sum(one.value_cents for one in kept) - top_up.value_cents
        if rest >= missing_cents:
            kept.remove(top_up)
    return kept
