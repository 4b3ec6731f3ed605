"""Pieces that leave for a job, and those that come back from one."""

from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db.models import Sum

from inventory.catalog.models import Part
from inventory.ledger.actions.asking import settle_ask, use_hold
from inventory.ledger.entry import Entry, NewLot, Occasion, check_pieces, posting_once
from inventory.ledger.lots import share_of
from inventory.ledger.models import (
    Ask,
    AskOutcome,
    Condition,
    Hold,
    How,
    Lot,
    Movement,
    Posting,
    PostingKind,
)
from inventory.shop.models import Bin, Site


def issue_stock(
    part: Part,
    *,
    site: Site,
    pieces: int,
    by: Any,
    key: str,
    occasion: Occasion | None = None,
    at: datetime | None = None,
    ask: Ask | None = None,
    how: How | None = None,
    hold: Hold | None = None,
    lot: Lot | None = None,
) -> Posting:
    """Issue pieces, oldest first, or from one lot such as a sensor prepared for this job.

    Without an ask one is written: whatever leaves the shelf was wanted. With a hold, its promise
    is used up first.
    """
    check_pieces(pieces, part)
    occasion = occasion or Occasion()
    from_hold = min(pieces, hold.pieces) if hold else 0
    usable = lot is None or lot.condition in Condition.usable()

    def work(entry: Entry) -> None:
        entry.expect(part, site, pieces=-pieces, usable=usable, held=-from_hold)
        entry.lock()
        if hold and from_hold:
            use_hold(hold, from_hold)
        if lot is None:
            entry.take_out(entry.lots(part, site).usable(), pieces)
        else:
            take_from_named(entry, lot, pieces)
        told = how or (How.SHELF if ask is None or ask.part_id == part.pk else How.SUBSTITUTE)
        if ask is None:
            write_own_ask(entry.posting, told)
        else:
            settle_ask(
                ask, how=told, pieces=pieces, posting=entry.posting, at=entry.posting.happened_at
            )

    def write_own_ask(posting: Posting, told: How) -> None:
        # The posting's key is ours, so nobody else can be writing or settling this ask.
        own = Ask.objects.create(
            key=f"{key}:ask"[:64],
            part=part,
            site=site,
            pieces=pieces,
            job_key=occasion.words[:40],
            at=posting.happened_at,
            day=site.day_of(posting.happened_at),
            by=by,
        )
        AskOutcome.objects.create(
            ask=own, how=told, pieces=pieces, posting=posting, at=posting.happened_at
        )

    return posting_once(
        key=key,
        kind=PostingKind.ISSUED,
        by=by,
        at=at,
        occasion=occasion,
        work=work,
        hold=hold if from_hold else None,
        hold_pieces=from_hold,
    )


def take_from_named(entry: Entry, lot: Lot, pieces: int) -> None:
    """Take from one lot, read again now that its shelf is locked."""
    fresh = Lot.objects.select_related("shelf").get(pk=lot.pk)
    if fresh.pieces_left < pieces:
        raise ValidationError(
            f"Lot {fresh.key} has {fresh.pieces_left} left, not {pieces}; choose another lot."
        )
    entry.take_from(fresh, pieces)


def return_stock(
    issued: Movement,
    *,
    pieces: int,
    by: Any,
    key: str,
    condition: Condition = Condition.SEALED,
    bin: Bin | None = None,
    at: datetime | None = None,
    occasion: Occasion | None = None,
) -> Posting:
    """Take back what a job did not use, at the cents it was issued at.

    Sealed pieces go back to their lot. Opened or prepared ones do not come back as new: they open
    a lot of their own, outside what can be sold, until somebody has checked them.
    """
    check_pieces(pieces, issued.part)
    if issued.pieces >= 0 or issued.posting.kind != PostingKind.ISSUED:
        raise ValidationError("Only an issue can be returned; choose a line that was issued.")

    def work(entry: Entry) -> None:
        usable = condition in Condition.usable()
        entry.expect(issued.part, issued.site, pieces=pieces, usable=usable)
        entry.lock()
        open_pieces, open_cents = still_out(issued)
        if pieces > open_pieces:
            raise ValidationError(
                f"Only {open_pieces} of {issued.part.number} are still out on this issue, "
                f"not {pieces}; return {open_pieces} or fewer."
            )
        cents = share_of(open_cents, pieces, open_pieces)
        if condition == Condition.SEALED and issued.lot.condition == Condition.SEALED:
            lot = Lot.objects.select_related("shelf").get(pk=issued.lot_id)
            entry.put_back(lot, pieces, cents, issued)
        else:
            entry.open_lot(issued.part, issued.site, returned_lot(issued, pieces, cents))

    def returned_lot(source: Movement, count: int, cents: int) -> NewLot:
        return NewLot(
            pieces=count,
            cents=cents,
            received_on=source.lot.received_on,
            condition=condition,
            bin=bin,
            made_on=source.lot.made_on,
            maker_code=source.lot.maker_code,
            came_from=source.posting.occasion,
            of=source,
        )

    return posting_once(
        key=key,
        kind=PostingKind.RETURNED,
        by=by,
        at=at,
        occasion=occasion or Occasion(words=issued.posting.occasion, on=issued.posting.occasion_on),
        work=work,
    )


def still_out(issued: Movement) -> tuple[int, int]:
    """Pieces and cents of an issue that have not come back, corrections included."""
    back = issued.answers.aggregate(pieces=Sum("pieces"), cents=Sum("cents"))
    return -issued.pieces - (back["pieces"] or 0), -issued.cents - (back["cents"] or 0)
