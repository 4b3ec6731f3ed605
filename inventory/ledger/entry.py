"""The making of one posting: its key first, then its shelves as the lock, then lots and movements.

Every action goes through `posting_once`, so that one key posts once and the second writer gets the
first result; and through `Entry`, which changes each shelf by one conditional UPDATE in the order
of the shelves' keys, so that two postings can never wait for each other in a circle.
"""

from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import F
from django.utils import timezone

from inventory.catalog.models import Counted, Part
from inventory.ledger.lots import Taken, take, take_oldest
from inventory.ledger.models import Condition, Hold, Lot, LotQuerySet, Movement, Posting, Shelf
from inventory.shop.models import Bin, Site


@dataclass(frozen=True, slots=True, kw_only=True)
class Occasion:
    """Why a posting was made: the ledger knows a job only by these words."""

    words: str = ""
    on: date | None = None


@dataclass(slots=True)
class Delta:
    """What one posting changes on one shelf."""

    on_hand: int = 0
    usable: int = 0
    held: int = 0

    @property
    def available(self) -> int:
        return self.usable - self.held


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
    with transaction.atomic():
        wanted = Posting(
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
        # On conflict do nothing: a second writer waits here until the first has committed.
        Posting.objects.bulk_create([wanted], ignore_conflicts=True)
        posting = Posting.objects.with_done().get(key=key)
        if posting.done:
            return posting
        entry = Entry(posting)
        work(entry)
        entry.close()
        return posting


@dataclass
class Entry:
    """The open posting: shelves are locked first, then lots change, then movements are written."""

    posting: Posting
    deltas: dict[tuple[int, int], Delta] = field(default_factory=lambda: defaultdict(Delta))
    movements: list[Movement] = field(default_factory=list)
    changed: dict[int, Lot] = field(default_factory=dict)

    def expect(self, part: Part, site: Site, *, pieces: int, usable: bool, held: int = 0) -> None:
        """Announce a change of a shelf; all are made together by `lock`."""
        delta = self.deltas[part.pk, site.pk]
        delta.on_hand += pieces
        delta.usable += pieces if usable else 0
        delta.held += held

    def lock(self) -> None:
        """Change every announced shelf, in key order, or refuse naming the first that cannot."""
        incoming = [
            Shelf(part_id=part, site_id=site)
            for (part, site), delta in sorted(self.deltas.items())
            if delta.on_hand > 0
        ]
        if incoming:
            Shelf.objects.bulk_create(incoming, ignore_conflicts=True)
        for (part, site), delta in sorted(self.deltas.items()):
            if not change_shelf(part, site, delta):
                raise ValidationError(refusal(part, site, delta))

    def lots(self, part: Part, site: Site) -> LotQuerySet:
        return Lot.objects.filter(shelf__part=part, shelf__site=site).left().oldest_first()

    def take_out(self, lots: LotQuerySet, pieces: int) -> list[Taken]:
        """Take pieces from these lots, oldest first; the shelves must be locked already."""
        return [self.book_out(taken) for taken in take_oldest(lots.select_related("shelf"), pieces)]

    def take_from(self, lot: Lot, pieces: int) -> Taken:
        return self.book_out(take(lot, pieces))

    def book_out(self, taken: Taken, of: Movement | None = None) -> Taken:
        self.changed[taken.lot.pk] = taken.lot
        self.book(taken.lot, -taken.pieces, -taken.cents, of)
        return taken

    def book(self, lot: Lot, pieces: int, cents: int, of: Movement | None = None) -> None:
        self.movements.append(
            Movement(
                posting=self.posting,
                number=len(self.movements) + 1,
                lot=lot,
                part_id=lot.shelf.part_id,
                site_id=lot.shelf.site_id,
                pieces=pieces,
                cents=cents,
                of=of,
            )
        )

    def put_back(self, lot: Lot, pieces: int, cents: int, of: Movement) -> None:
        lot.pieces_left += pieces
        lot.cents_left += cents
        self.changed[lot.pk] = lot
        self.book(lot, pieces, cents, of)

    def open_lot(self, part: Part, site: Site, new: NewLot) -> Lot:
        lot = Lot.objects.create(
            key=f"{self.posting.key}/{len(self.movements) + 1}",
            shelf=Shelf.objects.get(part=part, site=site),
            bin=new.bin,
            received_on=new.received_on,
            made_on=new.made_on,
            maker_code=new.maker_code,
            condition=new.condition,
            prepared_for=new.prepared_for,
            came_from=new.came_from,
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
                pieces_left=lot.pieces_left, cents_left=lot.cents_left
            )
        Movement.objects.bulk_create(self.movements)


def change_shelf(part_id: int, site_id: int, delta: Delta) -> bool:
    """One conditional UPDATE; True if the shelf could take it, which then is ours till the end."""
    shelf = Shelf.objects.filter(part_id=part_id, site_id=site_id)
    if delta.available < 0 or delta.held < 0:
        shelf = shelf.filter(usable__gte=F("held") - delta.available, held__gte=-delta.held)
    if delta.on_hand < 0:
        # What is not usable must be there too: on hand never falls below usable.
        shelf = shelf.filter(on_hand__gte=F("usable") + delta.usable - delta.on_hand)
    return bool(
        shelf.update(
            on_hand=F("on_hand") + delta.on_hand,
            usable=F("usable") + delta.usable,
            held=F("held") + delta.held,
        )
    )


def refusal(part_id: int, site_id: int, delta: Delta) -> str:
    part = Part.objects.get(pk=part_id)
    site = Site.objects.get(pk=site_id)
    shelf = Shelf.objects.filter(part=part, site=site).first() or Shelf(part=part, site=site)
    wanted = -delta.available if delta.available < 0 else -delta.on_hand
    free = shelf.available if delta.available < 0 else shelf.on_hand
    if free <= 0 and shelf.held:
        return (
            f"All {shelf.held} of {part.number} at {site} are promised to jobs; "
            "release a hold or receive stock first."
        )
    if free <= 0:
        return f"None of {part.number} on the shelf at {site}; receive stock first."
    return (
        f"Only {free} of {part.number} on the shelf at {site}, not {wanted}; "
        f"issue {free} or fewer, or receive stock first."
    )


def check_pieces(pieces: int, part: Part) -> None:
    if pieces < 1:
        raise ValidationError(
            f"{pieces} pieces of {part.number} cannot be posted; write 1 or more."
        )
    if part.counted == Counted.NOT:
        raise ValidationError(
            f"{part.number} is not counted, so nothing of it is posted; "
            "change how it is counted first."
        )


def check_cents(cents: int, part: Part) -> None:
    if cents < 0:
        raise ValidationError(f"The value of {part.number} cannot be below 0; write what it cost.")
