"""The making of one posting: its key first, then its shelves as the lock, then lots and movements.

Every action goes through `posting_once`, so that one key posts once and the second writer gets the
first result; and through `Entry`, which changes each shelf by one conditional UPDATE in the order
of the shelves' keys, so that two postings can never wait for each other in a circle.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils import timezone

from inventory.ledger.keys import insert_once
from inventory.ledger.lots import Taken, take, take_oldest
from inventory.ledger.models import Condition, Hold, Lot, Movement, Posting, Shelf
from inventory.ledger.sentences import refusal_of
from inventory.ledger.shelves import Delta, ShelfKey, change_shelf, lock_shelves, refusal
from inventory.shop.models import Bin


@dataclass(frozen=True, slots=True, kw_only=True)
class Occasion:
    """Why a posting was made: the ledger knows a job only by these words."""

    words: str = ""
    on: date | None = None

    @classmethod
    def of(cls, posting: Posting) -> "Occasion":
        return cls(words=posting.occasion, on=posting.occasion_on)


@dataclass(frozen=True, slots=True, kw_only=True)
class NewLot:
    """Pieces that come in as a lot of their own."""

    pieces: int
    cents: int
    received_on: date
    condition: Condition = Condition.SEALED
    bin: Bin | None = None
    made_on: date | None = None
    maker_code: str = ""
    prepared_for: str = ""
    came_from: str = ""
    from_lot: Lot | None = None
    of: Movement | None = None


def posting_once(
    *,
    key: str,
    kind: str,
    by: Any,
    at: datetime | None,
    occasion: Occasion | None,
    work: Callable[["Entry"], None],
    words: str = "",
    undoes: Posting | None = None,
    hold: Hold | None = None,
    hold_pieces: int = 0,
) -> Posting:
    """Post under a key, once; a key already posted gives back its first posting unchanged."""
    now = timezone.now()
    occasion = occasion or Occasion()
    posting = Posting(
        key=key,
        kind=kind,
        occasion=occasion.words,
        occasion_on=occasion.on,
        words=words,
        happened_at=at or now,
        recorded_at=now,
        by=by,
        undoes=undoes,
        hold=hold,
        hold_pieces=hold_pieces,
    )
    try:
        with transaction.atomic():
            if not insert_once(posting):
                return Posting.objects.get(key=key)
            entry = Entry(posting)
            work(entry)
            entry.close()
    except IntegrityError as broken:
        raise refusal_of(broken) from broken
    return posting


@dataclass
class Entry:
    """The open posting: shelves are locked first, then lots change, then movements are written."""

    posting: Posting
    deltas: dict[ShelfKey, Delta] = field(default_factory=lambda: defaultdict(Delta))
    movements: list[Movement] = field(default_factory=list)
    changed: dict[int, Lot] = field(default_factory=dict)
    shelves: dict[ShelfKey, int] = field(default_factory=dict)

    def expect(
        self, part_id: int, site_id: int, *, pieces: int, usable: bool, held: int = 0
    ) -> None:
        """Announce a change of a shelf; all are made together by `lock`."""
        delta = self.deltas[part_id, site_id]
        delta.on_hand += pieces
        delta.usable += pieces if usable else 0
        delta.held += held

    def keep_still(self, shelves: Iterable[ShelfKey]) -> None:
        """Lock shelves before it is known what will change, to look at their lots in peace."""
        self.shelves |= lock_shelves(shelves)

    def lock(self, verb: str = "issue") -> None:
        """Change every announced shelf, in key order, or refuse naming the first that cannot."""
        for key, delta in sorted(self.deltas.items()):
            shelf = change_shelf(key, delta)
            if shelf is None:
                raise ValidationError(refusal(key, delta, verb))
            self.shelves[key] = shelf

    def lots(self, part_id: int, site_id: int, **conditions: Any) -> list[Lot]:
        """Usable lots with pieces left, oldest first; the shelf must be locked already."""
        shelf = self.shelf(part_id, site_id)
        found = Lot.objects.filter(shelf=shelf.pk, pieces_left__gt=0, **conditions)
        # Picked and sorted here: every condition and column of the query costs more than that.
        lots = sorted((lot for lot in found.order_by() if lot.is_usable), key=lambda lot: lot.age)
        for lot in lots:
            lot.shelf = shelf
        return lots

    def shelf(self, part_id: int, site_id: int) -> Shelf:
        """A locked shelf, as a reference: its pieces are not read."""
        return Shelf(pk=self.shelves[part_id, site_id], part_id=part_id, site_id=site_id)

    def lot(self, pk: int) -> Lot:
        """A lot as it is now that its shelf is locked."""
        if pk not in self.changed:
            self.changed[pk] = Lot.objects.select_related("shelf").get(pk=pk)
        return self.changed[pk]

    def take_out(self, lots: Iterable[Lot], pieces: int) -> list[Taken]:
        """Take pieces from these lots, oldest first; the shelves must be locked already."""
        return [self._book_out(taken) for taken in take_oldest(lots, pieces)]

    def take_from(self, named: Lot, pieces: int) -> Taken:
        lot = self.lot(named.pk)
        if lot.pieces_left < pieces:
            raise ValidationError(
                f"Lot {lot.key} has {lot.pieces_left} left, not {pieces}; choose another lot."
            )
        return self._book_out(take(lot, pieces))

    def _book_out(self, taken: Taken) -> Taken:
        self.changed[taken.lot.pk] = taken.lot
        self.book(taken.lot, -taken.pieces, -taken.cents)
        return taken

    def book(self, lot: Lot, pieces: int, cents: int, of: Movement | None = None) -> Movement:
        movement = Movement(
            posting=self.posting,
            number=len(self.movements) + 1,
            lot=lot,
            part_id=lot.shelf.part_id,
            site_id=lot.shelf.site_id,
            pieces=pieces,
            cents=cents,
            of=of,
        )
        self.movements.append(movement)
        return movement

    def put_back(self, lot: Lot, pieces: int, cents: int, of: Movement) -> None:
        """Into the lot (fewer than 0: out of it), answering an earlier movement of that lot."""
        lot.pieces_left += pieces
        lot.cents_left += cents
        self.changed[lot.pk] = lot
        self.book(lot, pieces, cents, of)

    def open_lot(self, part_id: int, site_id: int, new: NewLot) -> Lot:
        lot = Lot.objects.create(
            key=f"{self.posting.key}/{len(self.movements) + 1}",
            shelf=self.shelf(part_id, site_id),
            bin=new.bin,
            received_on=new.received_on,
            made_on=new.made_on,
            maker_code=new.maker_code,
            condition=new.condition,
            prepared_for=new.prepared_for,
            came_from=new.came_from,
            from_lot=new.from_lot,
            pieces_received=new.pieces,
            cents_received=new.cents,
            pieces_left=new.pieces,
            cents_left=new.cents,
        )
        self.book(lot, new.pieces, new.cents, new.of)
        return lot

    def close(self) -> None:
        for lot in self.changed.values():
            Lot.objects.filter(pk=lot.pk).update(
                pieces_left=lot.pieces_left,
                cents_left=lot.cents_left,
                cents_received=lot.cents_received,
            )
        Movement.objects.bulk_create(self.movements)
