"""A posting undone: its opposite, posted once, unless its pieces have moved on."""

from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError

from inventory.ledger.actions.asking import reverse_outcomes, withdraw_served
from inventory.ledger.actions.holding import restore_hold
from inventory.ledger.entry import Entry, Occasion, posting_once
from inventory.ledger.models import Lot, Movement, Posting, PostingKind, Transfer
from inventory.ledger.trails import net_of, standing_answers


def undo_posting(posting: Posting, *, by: Any, key: str, at: datetime | None = None) -> Posting:
    """Post the opposite of a posting, once; refused when its pieces have moved on.

    Undoing an issue restores its hold and withdraws its ask.
    """
    if posting.undoes_id:
        raise ValidationError("This is itself an undo; post the movement again instead.")
    movements = list(
        posting.movements.select_related("lot__shelf", "posting", "of").order_by("-number")
    )
    if not movements:
        raise ValidationError("The count agreed and moved nothing; there is nothing to undo.")

    def work(entry: Entry) -> None:
        entry.keep_still((each.part_id, each.site_id) for each in movements)
        for movement in movements:
            _refuse_if_answered(movement)
            _reverse(entry, movement)
        _expect(entry, movements, posting)
        entry.lock("undo")
        if posting.hold_id:
            restore_hold(posting.hold_id, posting.hold_pieces)
        _undo_words(entry.posting, posting, movements)

    return posting_once(
        key=key,
        kind=PostingKind.UNDONE,
        by=by,
        at=at,
        occasion=Occasion.of(posting),
        work=work,
        undoes=posting,
    )


def _expect(entry: Entry, movements: list[Movement], posting: Posting) -> None:
    for movement in movements:
        entry.expect(
            movement.part_id,
            movement.site_id,
            pieces=-movement.pieces,
            usable=movement.lot.is_usable,
        )
    if posting.hold_id:
        first = movements[0]
        entry.expect(first.part_id, first.site_id, pieces=0, usable=True, held=posting.hold_pieces)


def _undo_words(undo: Posting, posting: Posting, movements: list[Movement]) -> None:
    """What the posting said of asks and transfers is taken back with it."""
    if posting.kind == PostingKind.ISSUED:
        pieces = -sum(movement.pieces for movement in movements)
        withdraw_served(posting, pieces=pieces, by_posting=undo)
    else:
        reverse_outcomes(posting, by_posting=undo)
    Transfer.objects.filter(received=posting).update(received=None)
    # What was borrowed is here again, to be sent back or kept.
    Transfer.objects.filter(sent=posting).update(sends_back=None)


def _refuse_if_answered(movement: Movement) -> None:
    later = standing_answers(movement).exclude(pieces=0).select_related("posting").first()
    if later is None and movement.pieces == 0:
        # A price that was corrected has gone into all that left since.
        later = (
            movement.lot.movements.filter(pk__gt=movement.pk)
            .exclude(posting=movement.posting_id)
            .select_related("posting")
            .order_by("-pk")
            .first()
        )
    if later is not None:
        raise ValidationError(_moved_on(later.posting))


def _reverse(entry: Entry, movement: Movement) -> None:
    lot = entry.lot(movement.lot_id)
    pieces, cents = net_of(movement)
    left, worth = lot.pieces_left - pieces, lot.cents_left - cents
    if left < 0 or worth < 0 or (left == 0 and worth):
        later = _latest_use(lot, movement.posting)
        raise ValidationError(
            _moved_on(later.posting)
            if later
            else "The value of this lot was corrected since; undo that first."
        )
    if movement.pieces == 0 and movement.of and movement.of.pieces > 0:
        lot.cents_received -= cents
    entry.put_back(lot, -pieces, -cents, movement)


def _latest_use(lot: Lot, posting: Posting) -> Movement | None:
    return (
        lot.movements.filter(pieces__lt=0, posting__undone_by=None, posting__undoes=None)
        .exclude(posting=posting)
        .select_related("posting")
        .order_by("-pk")
        .first()
    )


def _moved_on(later: Posting) -> str:
    return f"These pieces have moved on since ({later}, key {later.key}); undo that first."
