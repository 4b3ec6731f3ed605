"""Lots in hand by their key, and the usable ones of each shelf in the order they leave it."""

from bisect import bisect_left, insort
from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date

from inventory.ledger.models import Lot
from inventory.ledger.shelves import ShelfKey

Place = tuple[date, date, int]
"""Where a lot stands among those of its shelf: its age, and among equals when it was kept."""


def _place(entry: tuple[Place, Lot]) -> Place:
    return entry[0]


@dataclass(slots=True)
class Queues:
    by_key: dict[str, Lot] = field(default_factory=dict)
    places: dict[str, Place] = field(default_factory=dict)
    queues: dict[ShelfKey, list[tuple[Place, Lot]]] = field(
        default_factory=lambda: defaultdict(list)
    )

    def keep(self, lot: Lot) -> None:
        """Take a lot in hand; those of one shelf in the order in which they were recorded."""
        self.by_key[lot.key] = lot
        self.places[lot.key] = (*lot.age[:2], len(self.places))
        self.refile(lot)

    def refile(self, lot: Lot) -> None:
        """Put a usable lot that has pieces left into its queue, and take an empty one out."""
        if not lot.is_usable:
            return
        queue = self.queues[lot.shelf.part_id, lot.shelf.site_id]
        place = self.places[lot.key]
        at = bisect_left(queue, place, key=_place)
        there = at < len(queue) and queue[at][0] == place
        if lot.pieces_left > 0 and not there:
            insort(queue, (place, lot), key=_place)
        elif lot.pieces_left <= 0 and there:
            del queue[at]

    def oldest(self, key: ShelfKey, pieces: int, bin_id: int | None = None) -> list[Lot]:
        """As many usable lots of a shelf, or of one bin, as hold the pieces; oldest first."""
        found: list[Lot] = []
        for _, lot in self.queues[key]:
            if pieces <= 0:
                break
            if bin_id is None or lot.bin_id == bin_id:
                found.append(lot)
                pieces -= lot.pieces_left
        return found
