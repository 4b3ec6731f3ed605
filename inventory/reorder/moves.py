"""Before buying: what another site has more of than it needs; a van is filled from the shops.

Only told here; the pieces move by a transfer, and the next plan then asks for fewer.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from inventory.reorder.models import PlanLine
from inventory.shop.models import Site, SiteKind


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """Pieces for a line to order that can come from another site's shelf."""

    line: PlanLine
    source: PlanLine
    pieces: int
    can_give: int


def moves(to_order: Sequence[PlanLine], elsewhere: Iterable[PlanLine]) -> Iterator[Move]:
    """For each line the fewest sites that can give what is suggested, the richest first."""
    others = defaultdict(list)
    for line in elsewhere:
        others[line.part_id].append(line)
    for line in to_order:
        missing = line.suggested_pieces
        gives = [(can_give(source, line.site), source) for source in others[line.part_id]]
        for most, source in sorted(gives, key=lambda one: -one[0]):
            pieces = min(missing, most)
            if pieces > 0:
                yield Move(line=line, source=source, pieces=pieces, can_give=most)
                missing -= pieces


def can_give(source: PlanLine, to: Site) -> int:
    """What a site can spare; to a van a shop gives what it has, for it buys more easily."""
    if to.kind == SiteKind.VAN and source.site.kind == SiteKind.SHOP:
        return source.free
    return source.spare
