"""Corrections, each a posting of its own: counted, scrapped, revalued, undone, sent back."""

from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db.models import F, Sum

from inventory.catalog.models import Part
from inventory.ledger.actions.asking import withdraw_served
from inventory.ledger.actions.issuing import still_out, take_from_named
from inventory.ledger.actions.receiving import check_place
from inventory.ledger.entry import Entry, NewLot, Occasion, check_cents, check_pieces, posting_once
from inventory.ledger.lots import share_of
from inventory.ledger.models import Condition, Hold, Lot, Movement, Posting, PostingKind
from inventory.shop.models import Bin, Site


def count_stock(
    part: Part,
    *,
    site: Site,
    counted: int,
    by: Any,
    key: str,
    bin: Bin | None = None,
    unit_cents: int | None = None,
    at: datetime | None = None,
    occasion: Occasion | None = None,
) -> Posting | None:
    """Make the sealed and checked pieces of a part agree with what was counted.

    With a bin, only the pieces in that bin were counted. A surplus opens a lot at the last cost
    here, else anywhere, else `unit_cents` (what the caller was told or found in an offer). None
    when the count agrees: there is nothing to post.
    """
    if counted < 0:
        raise ValidationError(f"{counted} pieces cannot be counted; write 0 or more.")
    check_place(site, bin)
    if not Posting.objects.filter(key=key).exists() and counted == pieces_in(part, site, bin):
        return None

    def work(entry: Entry) -> None:
        # Nothing moves on the shelf while it is locked, so compare again from here on.
        entry.expect(part, site, pieces=0, usable=True)
        entry.lock()
        difference = counted - pieces_in(part, site, bin)
        if difference == 0:
            raise ValidationError("The shelf changed while it was counted; count it again.")
        entry.deltas.clear()
        entry.expect(part, site, pieces=difference, usable=True)
        entry.lock()
        if difference < 0:
            lots = entry.lots(part, site).usable()
            entry.take_out(lots.filter(bin=bin) if bin else lots, -difference)
        else:
            entry.open_lot(part, site, surplus(entry, difference))

    def surplus(entry: Entry, pieces: int) -> NewLot:
        return NewLot(
            pieces=pieces,
            cents=pieces * last_unit_cents(part, site, unit_cents),
            received_on=site.day_of(entry.posting.happened_at),
            bin=bin,
            came_from="Counted",
        )

    return posting_once(
        key=key, kind=PostingKind.COUNTED, by=by, at=at, occasion=occasion, work=work
    )


def pieces_in(part: Part, site: Site, bin: Bin | None) -> int:
    lots = Lot.objects.filter(shelf__part=part, shelf__site=site).usable()
    if bin is not None:
        lots = lots.filter(bin=bin)
    return int(lots.aggregate(total=Sum("pieces_left"))["total"] or 0)


def last_unit_cents(part: Part, site: Site, told: int | None = None) -> int:
    """What a piece cost last here, else anywhere, else what was told."""
    lots = Lot.objects.filter(shelf__part=part, pieces_received__gt=0, cents_received__gt=0)
    newest = lots.order_by("-received_on", "-pk")
    lot = newest.filter(shelf__site=site).first() or newest.first()
    if lot is not None:
        return share_of(lot.cents_received, 1, lot.pieces_received)
    if told is None:
        raise ValidationError(
            f"{part.number} was never bought, so its cost is not known; write what a piece costs."
        )
    return told


def scrap_stock(
    part: Part,
    *,
    site: Site,
    pieces: int,
    by: Any,
    key: str,
    words: str,
    lot: Lot | None = None,
    at: datetime | None = None,
) -> Posting:
    """Write pieces off, from one lot or oldest first. The reason is kept."""
    if not words:
        raise ValidationError("Say why it is scrapped.")
    return let_go(
        part,
        site=site,
        pieces=pieces,
        by=by,
        key=key,
        kind=PostingKind.SCRAPPED,
        words=words,
        lot=lot,
        at=at,
    )


def return_to_supplier(
    lot: Lot,
    *,
    pieces: int,
    by: Any,
    key: str,
    words: str = "",
    at: datetime | None = None,
    occasion: Occasion | None = None,
) -> Posting:
    """Send pieces of one lot back: a claim, a wrong delivery, overstock."""
    return let_go(
        lot.shelf.part,
        site=lot.shelf.site,
        pieces=pieces,
        by=by,
        key=key,
        kind=PostingKind.TO_SUPPLIER,
        words=words,
        lot=lot,
        at=at,
        occasion=occasion,
    )


def let_go(
    part: Part,
    *,
    site: Site,
    pieces: int,
    by: Any,
    key: str,
    kind: PostingKind,
    words: str,
    lot: Lot | None,
    at: datetime | None,
    occasion: Occasion | None = None,
) -> Posting:
    check_pieces(pieces, part)
    usable = lot is None or lot.condition in Condition.usable()

    def work(entry: Entry) -> None:
        entry.expect(part, site, pieces=-pieces, usable=usable)
        entry.lock()
        if lot is None:
            entry.take_out(entry.lots(part, site).usable(), pieces)
        else:
            take_from_named(entry, lot, pieces)

    return posting_once(key=key, kind=kind, by=by, at=at, occasion=occasion, work=work, words=words)


def revalue_stock(
    received: Movement,
    *,
    value_cents: int,
    by: Any,
    key: str,
    at: datetime | None = None,
    words: str = "",
) -> Posting:
    """Correct what a receipt cost; what was issued since gets its share, booked of its issue."""
    check_cents(value_cents, received.part)
    if received.pieces <= 0:
        raise ValidationError("Only a receipt can be revalued; choose a line that came in.")

    def work(entry: Entry) -> None:
        entry.expect(received.part, received.site, pieces=0, usable=True)
        entry.lock()
        lot = Lot.objects.select_related("shelf").get(pk=received.lot_id)
        booked = received.cents + (
            received.answers.filter(pieces=0).aggregate(total=Sum("cents"))["total"] or 0
        )
        change = value_cents - booked
        if change == 0:
            raise ValidationError("The value is already that; nothing to correct.")
        entry.changed[lot.pk] = lot
        lot.cents_left += change
        entry.book(lot, 0, change, received)
        left_pieces = received.pieces
        for out in lot.movements.filter(pieces__lt=0).order_by("posting_id", "number"):
            pieces, _ = still_out(out)
            share = share_signed(change, pieces, left_pieces)
            change, left_pieces = change - share, left_pieces - pieces
            if share:
                lot.cents_left -= share
                entry.book(lot, 0, -share, out)

    return posting_once(
        key=key,
        kind=PostingKind.REVALUED,
        by=by,
        at=at,
        occasion=Occasion(words=received.posting.occasion, on=received.posting.occasion_on),
        work=work,
        words=words,
    )


def share_signed(cents: int, pieces: int, of_pieces: int) -> int:
    if of_pieces <= 0:
        return 0
    return (
        share_of(cents, pieces, of_pieces) if cents >= 0 else -share_of(-cents, pieces, of_pieces)
    )


def undo_posting(posting: Posting, *, by: Any, key: str, at: datetime | None = None) -> Posting:
    """Post the opposite of a posting, once; refused when its pieces have moved on."""
    if posting.undoes_id:
        raise ValidationError("This is itself an undo; post the movement again instead.")
    movements = list(
        posting.movements.select_related("lot__shelf", "part", "site", "posting").order_by(
            "-number"
        )
    )

    def work(entry: Entry) -> None:
        if Posting.objects.filter(undoes=posting).exclude(pk=entry.posting.pk).exists():
            raise ValidationError("This was undone already; nothing more to undo.")
        for movement in movements:
            usable = movement.lot.condition in Condition.usable()
            entry.expect(movement.part, movement.site, pieces=-movement.pieces, usable=usable)
        if posting.hold_id:
            entry.expect(
                movements[0].part,
                movements[0].site,
                pieces=0,
                usable=True,
                held=posting.hold_pieces,
            )
        entry.lock()
        for movement in movements:
            reverse(entry, movement)
        if posting.hold_id:
            Hold.objects.filter(pk=posting.hold_id).update(
                pieces=F("pieces") + posting.hold_pieces, words=""
            )
        withdraw_served(entry.posting, at=entry.posting.happened_at)

    return posting_once(
        key=key,
        kind=PostingKind.UNDONE,
        by=by,
        at=at,
        occasion=Occasion(words=posting.occasion, on=posting.occasion_on),
        work=work,
        undoes=posting,
    )


def reverse(entry: Entry, movement: Movement) -> None:
    later = (
        Movement.objects.filter(lot=movement.lot, posting__undone_by=None, posting__undoes=None)
        .exclude(posting=movement.posting)
        .filter(of=movement)
        .select_related("posting")
        .first()
    )
    lot = entry.changed.get(movement.lot_id) or Lot.objects.select_related("shelf").get(
        pk=movement.lot_id
    )
    if later is None and (lot.pieces_left < movement.pieces or lot.cents_left < movement.cents):
        later = newest_use(lot, movement.posting)
    if later is not None:
        raise ValidationError(
            f"These pieces have moved on since ({later.posting}); undo that first."
        )
    entry.put_back(lot, -movement.pieces, -movement.cents, movement)
    if lot.pieces_left == 0 and lot.cents_left:
        raise ValidationError("The value of this lot was corrected since; undo that first.")


def newest_use(lot: Lot, posting: Posting) -> Movement | None:
    return (
        lot.movements.filter(posting__undone_by=None, posting__undoes=None)
        .exclude(posting=posting)
        .select_related("posting")
        .order_by("-pk")
        .first()
    )
