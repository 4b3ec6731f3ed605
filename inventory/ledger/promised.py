"""Promises that many postings use up and restore, before they are written.

Their shelves are locked by the postings, as an everyday issue does it.
"""

from dataclasses import dataclass, field

from inventory.ledger.models import Hold, Posting, Shelf
from inventory.ledger.rows import MovementRow, refuse

CHANGED = ["pieces", "pieces_promised", "words"]


@dataclass(slots=True)
class Promised:
    """`told_later`: keys of holds that are not there; their sheet comes after the postings."""

    holds: dict[str, Hold] = field(default_factory=dict)
    fresh: list[Hold] = field(default_factory=list)
    told_later: set[str] = field(default_factory=set)

    def use(self, row: MovementRow, pieces: int, shelf: Shelf) -> tuple[Hold, int]:
        """Take pieces off a promise: the promise, and by how much its shelf now holds less.

        One that is not there was used up in a history that comes from elsewhere: it is written
        down as that, and its sheet tells the rest of it.
        """
        hold = self.holds.get(row.hold) or self._found(row, shelf)
        if hold.shelf_id != shelf.pk:
            refuse(row, f"The hold “{row.hold}” is of {hold.shelf}; correct it.")
        if row.hold in self.told_later:
            hold.pieces_promised += pieces
            return hold, 0
        if hold.pieces < pieces:
            refuse(
                row,
                f"The hold for {hold.job_key} has {hold.pieces} left, not {pieces}; "
                "correct how many it gave.",
            )
        hold.pieces -= pieces
        return hold, pieces

    def _found(self, row: MovementRow, shelf: Shelf) -> Hold:
        there = Hold.objects.filter(key=row.hold)
        hold = there.select_related("shelf__part", "shelf__site").first()
        if hold is None:
            hold = Hold(
                key=row.hold,
                shelf=shelf,
                pieces=0,
                pieces_promised=0,
                job_key=row.occasion,
                made_at=row.happened_at,
                by_id=row.by_id,
            )
            self.fresh.append(hold)
            self.told_later.add(row.hold)
        self.holds[row.hold] = hold
        return hold

    def restore(self, undone: Posting) -> int:
        """Promise again what an undone issue had used up; by how much its shelf now holds more."""
        if undone.hold is None or undone.hold.key in self.told_later:
            return 0
        hold = self.holds.setdefault(undone.hold.key, undone.hold)
        hold.pieces, hold.words = hold.pieces + undone.hold_pieces, ""
        return undone.hold_pieces

    def write_fresh(self) -> None:
        Hold.objects.bulk_create(self.fresh)
        self.fresh.clear()

    def write(self) -> None:
        Hold.objects.bulk_update(self.holds.values(), CHANGED, batch_size=200)
