"""What lies on a shelf beyond what the plan keeps there and a year uses, and what can go back."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from inventory.reorder.inputs.returnable import LotNow, lots_now, parts_asked_for
from inventory.reorder.models import PlanLine, PlanRun
from inventory.shop.models import Site


@dataclass(frozen=True, slots=True, kw_only=True)
class GoesBack:
    """Pieces of one lot that the supplier still takes, and what it pays for them."""

    lot: LotNow
    pieces: int
    credit_cents: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Surplus:
    """Pieces of one part beyond what is needed, what they cost, and which can go back."""

    line: PlanLine
    pieces: int
    value_cents: int
    is_dead: bool
    goes_back: tuple[GoesBack, ...]

    @property
    def years(self) -> float | None:
        """How long the free pieces last; None where nobody asks."""
        a_year = self.line.pieces_a_year
        return self.line.free / a_year if a_year and not self.is_dead else None

    @property
    def credit_cents(self) -> int:
        return sum(one.credit_cents for one in self.goes_back)


@dataclass(frozen=True, slots=True, kw_only=True)
class SurplusList:
    run: PlanRun | None
    found: list[Surplus]

    @property
    def value_cents(self) -> int:
        return sum(one.value_cents for one in self.found)

    @property
    def credit_cents(self) -> int:
        return sum(one.credit_cents for one in self.found)

    @property
    def dead_count(self) -> int:
        return sum(one.is_dead for one in self.found)


def surplus_list(site: Site, *, today: date) -> SurplusList:
    """What can still go back first, then by value."""
    run = PlanRun.objects.finished().first()
    if run is None:
        return SurplusList(run=None, found=[])
    lines = list(PlanLine.objects.for_surplus(run, site))
    lots: dict[int, list[LotNow]] = defaultdict(list)
    for lot in lots_now([line.part_id for line in lines], site):
        lots[lot.part].append(lot)
    asked = parts_asked_for(site, since=today - timedelta(days=365))
    found = (surplus_of(line, lots[line.part_id], line.part_id in asked, today) for line in lines)
    some = [one for one in found if one.pieces]
    return SurplusList(
        run=run, found=sorted(some, key=lambda one: (not one.goes_back, -one.value_cents))
    )


def surplus_of(line: PlanLine, lots: Iterable[LotNow], asked: bool, today: date) -> Surplus:
    lying = list(lots)
    pieces = line.free if not asked else line.surplus
    cents, there = sum(lot.cents for lot in lying), sum(lot.pieces for lot in lying)
    return Surplus(
        line=line,
        pieces=pieces,
        value_cents=round(cents * pieces / there) if there else 0,
        is_dead=not asked,
        goes_back=tuple(going_back(pieces, lying, today)),
    )


def going_back(pieces: int, lots: Iterable[LotNow], today: date) -> Iterator[GoesBack]:
    """The newest lots first, for they can be sent back longest and are worth most there."""
    open_lots = [lot for lot in lots if lot.until is not None and lot.until >= today]
    for lot in sorted(open_lots, key=lambda one: one.received_on, reverse=True):
        going = min(pieces, lot.pieces)
        if going > 0:
            cents = lot.cents * going / lot.pieces
            credit = round(cents * (1000 - lot.fee_per_mille) / 1000)
            yield GoesBack(lot=lot, pieces=going, credit_cents=credit)
            pieces -= going
