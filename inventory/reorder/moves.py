"""Before buying: what another site has more of than it needs.

Only told here; the pieces move by a transfer, and the next plan then asks for fewer.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from inventory.reorder.models import PlanLine


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """Pieces for a line to order that can come from another site's shelf."""

    line: PlanLine
    source: PlanLine
    pieces: int


def moves(to_order: Sequence[PlanLine], elsewhere: Iterable[PlanLine]) -> Iterator[Move]:
    """For each line the fewest sites that can spare what is suggested, the richest first."""
    spare = defaultdict(list)
    for line in elsewhere:
        spare[line.part_id].append(line)
    for line in to_order:
        missing = line.suggested_pieces
        for source in sorted(spare[line.part_id], key=lambda other: -other.spare):
            pieces = min(missing, source.spare)
            if pieces > 0:
                yield Move(line=line, source=source, pieces=pieces)
                missing -= pieces
