"""What lies on a shelf beyond what the plan keeps there and a year uses, and what can go back."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil

from inventory.reorder.inputs.returnable import LotNow, lots_now, parts_asked_for
from inventory.reorder.inputs.superseded import read_superseded
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
    pieces_a_year: float
    goes_back: tuple[GoesBack, ...]

    @property
    def years(self) -> float | None:
        """How long the free pieces last; None where nobody asks."""
        used = self.pieces_a_year
        return self.line.free / used if used and not self.is_dead else None

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
    used = used_up_for(lines, run, site)
    lots: dict[int, list[LotNow]] = defaultdict(list)
    for lot in lots_now([line.part_id for line in lines], site):
        lots[lot.part].append(lot)
    asked = parts_asked_for(site, since=today - timedelta(days=365))
    found = (
        surplus_of(line, lots[line.part_id], {line.part_id, newer} & asked, today, used=a_year)
        for line in lines
        for newer, a_year in [used.get(line.part_id, (line.part_id, line.pieces_a_year))]
    )
    some = [one for one in found if one.pieces]
    return SurplusList(
        run=run, found=sorted(some, key=lambda one: (not one.goes_back, -one.value_cents))
    )


def used_up_for(lines: list[PlanLine], run: PlanRun, site: Site) -> dict[int, tuple[int, float]]:
    """Of superseded parts the newer one that they are used up for, and its pieces a year."""
    olds = [line.part_id for line in lines if line.is_superseded]
    if not olds:
        return {}
    newest = read_superseded(run.as_of).newest
    newer = {old: newest[old] for old in olds if old in newest}
    bought = PlanLine.objects.filter(run=run, site=site, part__in=newer.values())
    used = {line.part_id: line.pieces_a_year for line in bought}
    return {old: (new, used[new]) for old, new in newer.items() if new in used}


def surplus_of(
    line: PlanLine, lots: Iterable[LotNow], asked: set[int], today: date, *, used: float
) -> Surplus:
    """`asked` are the parts asked for within a year: it, or the newer one it is used up for."""
    lying = list(lots)
    kept = line.most_kept if asked or line.own_goal else 0
    pieces = max(0, line.free - max(kept, ceil(used) if asked else 0))
    cents, there = sum(lot.cents for lot in lying), sum(lot.pieces for lot in lying)
    return Surplus(
        line=line,
        pieces=pieces,
        value_cents=round(cents * pieces / there) if there else 0,
        is_dead=not asked,
        pieces_a_year=used,
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
