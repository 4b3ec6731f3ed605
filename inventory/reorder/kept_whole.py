"""Each assembly of the plan beside its body and stem: kept whole, or put together when asked for.

What is kept whole is the plan as it stands. Kept apart, the assembly has no shelf of its own and
its pieces serve its asks too. One assembly at a time, the others left as they are: two that share a
body do not free the sum of what is told of each.
"""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np

from inventory.catalog.models import PartKind
from inventory.planning.apart import KeptApart, kept_apart
from inventory.planning.pooling import Streams
from inventory.reorder.inputs.facts import Floats, Ints
from inventory.reorder.inputs.job_needs import read_recipes
from inventory.reorder.models import PlanLine, PlanRun
from inventory.reorder.shelf_levels import NEEDED, laws_of, sizes_of
from inventory.shop.models import Site

ALMOST_CERTAIN = 0.999


@dataclass(frozen=True, slots=True, kw_only=True)
class OneShelf:
    """One part of an assembly's comparison: what is kept of it as it is, and kept apart."""

    line: PlanLine
    point_now: int
    point_apart: int
    cents_now: int
    cents_apart: int
    share_now: float
    share_apart: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """An assembly first, then its pieces; `dearer_cents` is what one costs more bought apart."""

    shelves: list[OneShelf]
    share_now: float
    share_apart: float
    dearer_cents: int
    holding_rate: float

    @property
    def assembly(self) -> PlanLine:
        return self.shelves[0].line

    @property
    def freed_cents(self) -> int:
        """On the shelf; negative where the pieces would hold more."""
        return sum(one.cents_now - one.cents_apart for one in self.shelves)

    @property
    def saved_cents(self) -> int:
        """A year: holding less, less what is paid more for the pieces."""
        dearer = self.dearer_cents * self.assembly.pieces_a_year
        return round(self.freed_cents * self.holding_rate - dearer)

    @property
    def cheaper_cents(self) -> int:
        return -self.dearer_cents

    @property
    def is_better_apart(self) -> bool:
        """Not against a goal of its own: somebody said that it is kept."""
        return not self.assembly.own_goal and self.freed_cents > 0 and self.saved_cents > 0


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptWhole:
    run: PlanRun | None
    found: list[Compared] = field(default_factory=list)

    @property
    def apart(self) -> list[Compared]:
        return [one for one in self.found if one.is_better_apart]


def assemblies_kept(site: Site) -> KeptWhole:
    """Every assembly that the last plan keeps here and that can be put together; best first."""
    run = PlanRun.objects.finished().first()
    if run is None:
        return KeptWhole(run=None)
    recipes = read_recipes()
    parts = np.unique(recipes[:, :2]).tolist()
    lines = PlanLine.objects.filter(run=run, site=site, part__in=parts).select_related("part")
    known = {line.part_id: line for line in lines if line.figures.keys() >= NEEDED}
    made = list(_with_pieces(known, recipes))
    if not made:
        return KeptWhole(run=run)
    found = list(_compared(run, made))
    return KeptWhole(run=run, found=sorted(found, key=lambda one: -one.saved_cents))


Made = tuple[PlanLine, list[tuple[PlanLine, int]]]
"""An assembly, and its pieces with how many it takes of each."""


def _with_pieces(known: dict[int, PlanLine], recipes: Ints) -> Iterator[Made]:
    """Assemblies kept whole whose pieces have all been looked at and have a price."""
    pieces: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for whole, piece, count in recipes.tolist():
        pieces[whole].append((piece, count))
    for whole, needed in pieces.items():
        line = known.get(whole)
        if line is None or line.part.kind != PartKind.ASSEMBLY or line.is_bought_when_asked:
            continue
        found = [(known[piece], count) for piece, count in needed if piece in known]
        if len(found) == len(needed) and all(one.pack_price_cents is not None for one, _ in found):
            yield line, found


def _compared(run: PlanRun, made: list[Made]) -> Iterator[Compared]:
    found, start = _apart(run, made), 0
    for row, (assembly, pieces) in enumerate(made):
        rows = range(start, start + len(pieces))
        start += len(pieces)
        shelves = [_on_its_own(assembly, float(found.assembly_fill[row]))]
        shelves += [_piece(line, found, at) for (line, _), at in zip(pieces, rows, strict=True)]
        asks = np.array([one.line.asks for one in shelves])
        dearer = sum(count * line.figures["unit_cents"] for line, count in pieces)
        yield Compared(
            shelves=shelves,
            share_now=_share(asks, [one.share_now for one in shelves]),
            share_apart=_share(asks, [one.share_apart for one in shelves]),
            dearer_cents=round(dearer - assembly.figures["unit_cents"]),
            holding_rate=float(run.figures["holding_rate"]),
        )


def _apart(run: PlanRun, made: list[Made]) -> KeptApart:
    pieces = [(row, line, count) for row, (_, needed) in enumerate(made) for line, count in needed]
    lines = [line for _, line, _ in pieces]
    laws = laws_of(run, [line.supplier_id for line in lines])
    return kept_apart(
        _streams([assembly for assembly, _ in made]),
        _streams(lines),
        laws["interval"],
        whole=[row for row, _, _ in pieces],
        quantity=[count for _, _, count in pieces],
        order_quantity=[line.order_quantity for line in lines],
        target=[_target(assembly) for assembly, _ in made],
        law=laws["law"],
    )


def _target(assembly: PlanLine) -> float:
    """What it is planned to; where no share is aimed at, what it reaches."""
    share = assembly.job_fill if assembly.target is None else assembly.target
    return min(max(share or 0.0, 1 - ALMOST_CERTAIN), ALMOST_CERTAIN)


def _streams(lines: list[PlanLine]) -> Streams:
    rate = np.array([line.asks for line in lines]) / 7
    shape = np.array([line.figures["rate_shape"] for line in lines])
    sizes = sizes_of([line.figures for line in lines])
    return Streams(asks_per_day=rate, rate_variance=rate**2 / shape, sizes=sizes.pmf[sizes.table])


def _on_its_own(assembly: PlanLine, share_apart: float) -> OneShelf:
    return OneShelf(
        line=assembly,
        point_now=assembly.reorder_point,
        point_apart=-1,
        cents_now=_cents(assembly, assembly.mean_on_hand or 0.0),
        cents_apart=0,
        share_now=assembly.job_fill or 0.0,
        share_apart=share_apart,
    )


def _piece(line: PlanLine, found: KeptApart, at: int) -> OneShelf:
    """What is bought when asked holds and fills nothing."""
    kept = not line.is_bought_when_asked
    return OneShelf(
        line=line,
        point_now=line.reorder_point,
        point_apart=int(found.pieces.reorder_point[at]),
        cents_now=_cents(line, line.mean_on_hand or 0.0) if kept else 0,
        cents_apart=_cents(line, float(found.pieces.mean_on_hand[at])),
        share_now=(line.job_fill or 0.0) if kept else 0.0,
        share_apart=float(found.own_fill[at]),
    )


def _cents(line: PlanLine, pieces: float) -> int:
    return round(pieces * float(line.figures["unit_cents"]))


def _share(asks: Floats, shares: list[float]) -> float:
    return float(asks @ np.array(shares) / asks.sum()) if asks.sum() else 0.0
