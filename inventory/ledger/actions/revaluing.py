"""A price corrected after the receipt: it follows the pieces wherever they have gone since.

What is left in the lot is worth the new price; the share of what was issued is booked of its
issue, so that the job's cost is right; what was moved, made into something else or came back
opened carries its share into its own lot.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db.models import Sum

from inventory.ledger.entry import Entry, Occasion, posting_once
from inventory.ledger.lots import split_evenly
from inventory.ledger.models import Lot, Movement, Posting, PostingKind
from inventory.ledger.shelves import ShelfKey, check_cents
from inventory.ledger.trails import net_of, standing_answers

CARRIED_ON = (PostingKind.MOVED, PostingKind.TAKEN_APART, PostingKind.PUT_TOGETHER)


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
        _keep_all_still(entry, received.lot)
        pieces, cents = net_of(received)
        if pieces == 0:
            raise ValidationError("This receipt was undone; there is nothing to revalue.")
        if value_cents == cents:
            raise ValidationError("The value is already that; nothing to correct.")
        _carry(entry, received, value_cents - cents)

    return posting_once(
        key=key,
        kind=PostingKind.REVALUED,
        by=by,
        at=at,
        occasion=Occasion.of(received.posting),
        work=work,
        words=words,
    )


def _keep_all_still(entry: Entry, lot: Lot) -> None:
    """Lock every shelf that pieces of the lot have reached; look again, for they may move on."""
    shelves = set(_reached(lot))
    entry.keep_still(shelves)
    if set(_reached(lot)) - shelves:
        raise ValidationError(
            f"Pieces of lot {lot.key} moved while its price was corrected; correct it again."
        )


def _reached(lot: Lot) -> Iterator[ShelfKey]:
    seen, ahead = {lot.pk}, [lot]
    while ahead:
        here = ahead.pop()
        yield here.shelf.part_id, here.shelf.site_id
        for out in _left(here):
            for came in [*_came_of(out), *_came_back(out)]:
                if came.lot_id not in seen:
                    seen.add(came.lot_id)
                    ahead.append(came.lot)


def _left(lot: Lot) -> list[Movement]:
    """Movements by which pieces left the lot, in order, save those undone."""
    out = lot.movements.filter(pieces__lt=0, posting__undone_by=None, posting__undoes=None)
    return list(out.select_related("posting", "lot__shelf").order_by("pk"))


def _came_of(out: Movement) -> list[Movement]:
    """What a movement out became within its own posting: moved, taken apart, put together."""
    if out.posting.kind not in CARRIED_ON:
        return []
    came = out.posting.movements.filter(pieces__gt=0).select_related("lot__shelf").order_by("pk")
    return [each for each in came if each.lot.from_lot_id == out.lot_id] or list(came)


def _came_back(out: Movement) -> list[Movement]:
    """What returned of an issue into a lot of its own."""
    back = standing_answers(out).filter(pieces__gt=0).exclude(lot=out.lot_id)
    return list(back.select_related("lot__shelf").order_by("pk"))


def _carry(entry: Entry, came: Movement, change: int) -> None:
    """Change the cents with which pieces came into a lot, and of all that has left it since."""
    lot = entry.lot(came.lot_id)
    lot.cents_received += change
    lot.cents_left += change
    entry.book(lot, 0, change, came)
    outs = _left(lot)
    gone = [_gone(out) for out in outs]
    pieces = [lot.pieces_left, *(pieces for pieces, _ in gone)]
    worth = split_evenly(lot.cents_received, pieces) if any(pieces) else [0] * len(pieces)
    for out, (_, before), after in zip(outs, gone, worth[1:], strict=True):
        if after != before:
            lot.cents_left -= after - before
            entry.book(lot, 0, before - after, out)
            _carry_on(entry, out, after - before)


def _gone(out: Movement) -> tuple[int, int]:
    """Pieces and cents that left the lot by this movement and are not back in the same lot."""
    answers = standing_answers(out).filter(lot=out.lot_id)
    back = answers.aggregate(pieces=Sum("pieces"), cents=Sum("cents"))
    return -out.pieces - (back["pieces"] or 0), -out.cents - (back["cents"] or 0)


def _carry_on(entry: Entry, out: Movement, change: int) -> None:
    if came := _came_of(out):
        lots = [entry.lot(each.lot_id) for each in came]
        for each, share in zip(
            came, _signed(change, [lot.cents_received for lot in lots]), strict=True
        ):
            if share:
                _carry(entry, each, share)
    elif back := _came_back(out):
        pieces, _ = _gone(out)
        counts = [each.pieces for each in back]
        shares = _signed(change, [*counts, pieces - sum(counts)])
        for each, share in zip(back, shares[:-1], strict=True):
            if share := max(share, -entry.lot(each.lot_id).cents_received):
                _carry(entry, each, share)


def _signed(cents: int, weights: Sequence[int]) -> list[int]:
    shares = split_evenly(abs(cents), weights)
    return shares if cents >= 0 else [-share for share in shares]
