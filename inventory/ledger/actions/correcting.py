"""Stock put right: counted, scrapped, sent back to the supplier."""

from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db.models import Sum

from inventory.catalog.models import Part
from inventory.ledger.actions.issuing import check_lot, take_named_or_oldest
from inventory.ledger.costs import last_cost
from inventory.ledger.entry import Entry, NewLot, Occasion, posting_once
from inventory.ledger.lots import share_of
from inventory.ledger.models import Condition, Lot, LotQuerySet, Movement, Posting, PostingKind
from inventory.ledger.shelves import check_pieces, check_place
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
    seen_at: datetime | None = None,
    occasion: Occasion | None = None,
) -> Posting:
    """Make the sealed and checked pieces of a part agree with what was counted.

    With a bin, only the pieces in that bin were counted. With `seen_at`, they are compared with
    what lay there at that instant: what happened since stays as it is. A surplus opens a lot at
    the last cost here, else anywhere, else `unit_cents` (what the caller was told or found in an
    offer). A count that agrees is a posting without movements.
    """
    if counted < 0:
        raise ValidationError(f"{counted} pieces cannot be counted; write 0 or more.")
    check_pieces(max(1, counted), part)
    check_place(site, bin)

    def work(entry: Entry) -> None:
        entry.keep_still([(part.pk, site.pk)])
        difference = counted - pieces_in(part, site, bin, seen_at)
        if difference == 0:
            return
        entry.expect(part.pk, site.pk, pieces=difference, usable=True)
        entry.lock("count off")
        if difference > 0:
            entry.open_lot(part.pk, site.pk, surplus(entry, difference))
            return
        there = entry.lots(part.pk, site.pk, **({"bin": bin} if bin else {}))
        taken = entry.take_out(there, -difference)
        if (found := sum(each.pieces for each in taken)) < -difference:
            raise ValidationError(
                f"Only {found} of {part.number} are left where {-difference} are missing; "
                "count again."
            )

    def surplus(entry: Entry, pieces: int) -> NewLot:
        return NewLot(
            pieces=pieces,
            cents=surplus_cents(part, site, pieces, unit_cents),
            received_on=site.day_of(entry.posting.happened_at),
            bin=bin,
            came_from="Counted",
        )

    return posting_once(
        key=key, kind=PostingKind.COUNTED, by=by, at=at, occasion=occasion, work=work
    )


def pieces_in(part: Part, site: Site, bin: Bin | None, seen_at: datetime | None = None) -> int:
    """Usable pieces on a shelf or in a bin: now, or as they lay there at an instant."""
    lots = _counted_lots(Lot.objects.filter(shelf__part=part, shelf__site=site), bin)
    now = int(lots.aggregate(total=Sum("pieces_left"))["total"] or 0)
    if seen_at is None:
        return now
    since = Movement.objects.filter(lot__in=lots, posting__happened_at__gt=seen_at)
    return now - int(since.aggregate(total=Sum("pieces"))["total"] or 0)


def _counted_lots(lots: LotQuerySet, bin: Bin | None) -> LotQuerySet:
    usable = lots.filter(condition__in=Condition.usable())
    return usable.filter(bin=bin) if bin else usable


def surplus_cents(part: Part, site: Site, pieces: int, unit_cents: int | None) -> int:
    """What found pieces are worth: as the last bought here, else anywhere, else as told."""
    if cost := last_cost(part, site):
        return share_of(cost.cents, pieces, cost.pieces)
    if unit_cents is None:
        raise ValidationError(
            f"{part.number} was never bought, so its cost is not known; write what a piece costs."
        )
    return pieces * unit_cents


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
    return _let_go(
        part,
        site=site,
        pieces=pieces,
        by=by,
        key=key,
        kind=PostingKind.SCRAPPED,
        verb="scrap",
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
    return _let_go(
        lot.shelf.part,
        site=lot.shelf.site,
        pieces=pieces,
        by=by,
        key=key,
        kind=PostingKind.TO_SUPPLIER,
        verb="send back",
        words=words,
        lot=lot,
        at=at,
        occasion=occasion,
    )


def _let_go(
    part: Part,
    *,
    site: Site,
    pieces: int,
    by: Any,
    key: str,
    kind: PostingKind,
    verb: str,
    words: str,
    lot: Lot | None,
    at: datetime | None,
    occasion: Occasion | None = None,
) -> Posting:
    check_pieces(pieces, part)
    usable = check_lot(lot, part, site)

    def work(entry: Entry) -> None:
        entry.expect(part.pk, site.pk, pieces=-pieces, usable=usable)
        entry.lock(verb)
        take_named_or_oldest(entry, part, site, lot, pieces)

    return posting_once(key=key, kind=kind, by=by, at=at, occasion=occasion, work=work, words=words)
