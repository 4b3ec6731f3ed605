"""Pieces that leave for a job, and those that come back from one."""

from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError

from inventory.catalog.models import Part
from inventory.ledger.actions.asking import serve_ask, withdraw_served
from inventory.ledger.actions.holding import use_hold
from inventory.ledger.entry import Entry, NewLot, Occasion, posting_once
from inventory.ledger.lots import share_of
from inventory.ledger.models import Ask, Condition, Hold, How, Lot, Movement, Posting, PostingKind
from inventory.ledger.shelves import check_bin, check_pieces, check_sells
from inventory.ledger.trails import still_out
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
    wish: bool = False,
) -> Posting:
    """Issue pieces, oldest first, or from one lot such as a sensor prepared for this job.

    Without an ask one is written: whatever leaves the shelf was wanted. With a hold, its promise
    is used up first.
    """
    check_pieces(pieces, part)
    check_sells(site)
    usable = check_lot(lot, part, site)
    if lot is not None and not usable and lot.condition != Condition.PREPARED:
        raise ValidationError(
            f"Lot {lot.key} is {lot.get_condition_display().lower()}; "
            "check it and mark it checked before it is issued."
        )
    from_hold = _promised(hold, part, site, pieces) if usable else 0

    def work(entry: Entry) -> None:
        if ask is None:
            # Before the shelf is locked, so that others wait less long for it.
            serve(entry.posting)
        entry.expect(part.pk, site.pk, pieces=-pieces, usable=usable, held=-from_hold)
        entry.lock("issue")
        if hold and from_hold:
            use_hold(hold, from_hold)
        take_named_or_oldest(entry, part, site, lot, pieces)
        if ask is not None:
            serve(entry.posting)

    def serve(posting: Posting) -> None:
        serve_ask(ask, part, site=site, pieces=pieces, posting=posting, how=how, wish=wish)

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


def check_lot(lot: Lot | None, part: Part, site: Site) -> bool:
    """Whether what leaves is usable; refuses a lot that lies on another shelf."""
    if lot is None:
        return True
    if (lot.shelf.part_id, lot.shelf.site_id) != (part.pk, site.pk):
        raise ValidationError(
            f"Lot {lot.key} is {lot.shelf.part} at {lot.shelf.site}, not {part} at {site}; "
            "choose another lot."
        )
    return lot.is_usable


def _promised(hold: Hold | None, part: Part, site: Site, pieces: int) -> int:
    if hold is None:
        return 0
    if (hold.shelf.part_id, hold.shelf.site_id) != (part.pk, site.pk):
        raise ValidationError(
            f"The hold for {hold.job_key} is of {hold.shelf.part} at {hold.shelf.site}, "
            f"not of {part} at {site}; issue without it."
        )
    hold.refresh_from_db(fields=["pieces"])
    return min(pieces, hold.pieces)


def take_named_or_oldest(
    entry: Entry, part: Part, site: Site, lot: Lot | None, pieces: int
) -> None:
    if lot is None:
        entry.take_out(entry.lots(part.pk, site.pk), pieces)
    else:
        entry.take_from(lot, pieces)


def _check_comes_back(issued: Movement, condition: Condition) -> None:
    if issued.pieces >= 0 or issued.posting.kind != PostingKind.ISSUED:
        raise ValidationError("Only an issue can be returned; choose a line that was issued.")
    if condition == Condition.SEALED and issued.lot.condition != Condition.SEALED:
        raise ValidationError(
            f"{issued.part.number} left opened and cannot come back sealed; "
            "return it as opened or checked."
        )


def return_stock(
    issued: Movement,
    *,
    pieces: int,
    by: Any,
    key: str,
    condition: Condition = Condition.SEALED,
    bin: Bin | None = None,
    prepared_for: str = "",
    at: datetime | None = None,
    occasion: Occasion | None = None,
) -> Posting:
    """Take back what a job did not use, at the cents it was issued at.

    Sealed pieces go back to their lot. Opened or prepared ones do not come back as new: they open
    a lot of their own, outside what can be sold, until somebody has checked them. What came back
    was not wanted after all, so the ask it served is withdrawn.
    """
    part = issued.part
    check_pieces(pieces, part)
    check_bin(issued.site, bin)
    _check_comes_back(issued, condition)

    def work(entry: Entry) -> None:
        usable = condition in Condition.usable()
        entry.expect(part.pk, issued.site_id, pieces=pieces, usable=usable)
        entry.lock()
        out, cents = still_out(issued)
        if pieces > out:
            raise ValidationError(
                f"Only {out} of {part.number} are still out on this issue, "
                f"not {pieces}; return {out} or fewer."
            )
        back = share_of(cents, pieces, out)
        if usable and condition == issued.lot.condition:
            entry.put_back(entry.lot(issued.lot_id), pieces, back, issued)
        else:
            entry.open_lot(part.pk, issued.site_id, returned_lot(pieces, back))
        withdraw_served(issued.posting, pieces=pieces, by_posting=entry.posting)

    def returned_lot(count: int, cents: int) -> NewLot:
        return NewLot(
            pieces=count,
            cents=cents,
            received_on=issued.lot.received_on,
            condition=condition,
            bin=bin,
            made_on=issued.lot.made_on,
            maker_code=issued.lot.maker_code,
            prepared_for=prepared_for,
            came_from=issued.posting.occasion,
            from_lot=issued.lot,
            of=issued,
        )

    return posting_once(
        key=key,
        kind=PostingKind.RETURNED,
        by=by,
        at=at,
        occasion=occasion or Occasion.of(issued.posting),
        work=work,
    )
