"""Assemblies and kits taken apart into their pieces, and put together from them."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from inventory.catalog.models import Counted, MadeOf, Part
from inventory.ledger.actions.issuing import check_lot, issue_stock, take_named_or_oldest
from inventory.ledger.costs import weights
from inventory.ledger.entry import Entry, NewLot, Occasion, posting_once
from inventory.ledger.lots import split_evenly
from inventory.ledger.models import Condition, Lot, Posting, PostingKind
from inventory.ledger.shelves import check_pieces, check_place, lock_shelves
from inventory.shop.models import Bin, Site


def take_apart(
    part: Part,
    *,
    site: Site,
    by: Any,
    key: str,
    pieces: int = 1,
    used: Sequence[Part] = (),
    bin: Bin | None = None,
    lot: Lot | None = None,
    at: datetime | None = None,
    occasion: Occasion | None = None,
) -> Posting:
    """Turn an assembly or kit into loose stock, checked and fit to be sold.

    The cents of the whole go to the pieces by last cost, else list price, else equally, odd cents
    by largest remainder; a piece that is not counted has no shelf, and its share goes to the
    counted ones. `used` are pieces that go straight into the job: each is issued at its share, as
    the key followed by `/used/` and its place in that list.
    """
    check_pieces(pieces, part)
    check_place(site, bin)
    usable = check_lot(lot, part, site)
    shelved = counted_pieces(part)

    def work(entry: Entry) -> None:
        entry.expect(part.pk, site.pk, pieces=-pieces, usable=usable)
        for row in shelved:
            entry.expect(row.piece_id, site.pk, pieces=row.quantity * pieces, usable=True)
        entry.lock("take apart")
        take_named_or_oldest(entry, part, site, lot, pieces)
        taken = [movement.lot for movement in entry.movements]
        cents = -sum(movement.cents for movement in entry.movements)
        shares = split_evenly(cents, weights_of(shelved, site))
        for row, share in zip(shelved, shares, strict=True):
            new = NewLot(
                pieces=row.quantity * pieces,
                cents=share,
                received_on=site.day_of(entry.posting.happened_at),
                condition=Condition.CHECKED,
                bin=bin,
                made_on=taken[0].made_on,
                maker_code=taken[0].maker_code,
                came_from=f"{part.number} taken apart"[:80],
                from_lot=taken[0] if len(taken) == 1 else None,
            )
            entry.open_lot(row.piece_id, site.pk, new)

    with transaction.atomic():
        lock_shelves([(part.pk, site.pk), *((row.piece_id, site.pk) for row in shelved)])
        apart = posting_once(
            key=key, kind=PostingKind.TAKEN_APART, by=by, at=at, occasion=occasion, work=work
        )
        for number, piece in enumerate(used, start=1):
            _use(apart, piece, site, key=f"{key}/used/{number}", by=by)
    return apart


def _use(apart: Posting, piece: Part, site: Site, *, key: str, by: Any) -> None:
    movement = apart.movements.filter(part=piece, pieces__gt=0).select_related("lot__shelf").first()
    if movement is None:
        raise ValidationError(
            f"{piece.number} is not a counted piece of what was taken apart; "
            "leave it out or list it first."
        )
    issue_stock(
        piece,
        site=site,
        pieces=movement.pieces,
        by=by,
        key=key,
        at=apart.happened_at,
        occasion=Occasion.of(apart),
        lot=movement.lot,
    )


def put_together(
    part: Part,
    *,
    site: Site,
    by: Any,
    key: str,
    pieces: int = 1,
    bin: Bin | None = None,
    at: datetime | None = None,
    occasion: Occasion | None = None,
) -> Posting:
    """Make an assembly or kit from loose stock; it costs what its counted pieces cost."""
    check_pieces(pieces, part)
    check_place(site, bin)
    needed = counted_pieces(part)

    def work(entry: Entry) -> None:
        for row in needed:
            entry.expect(row.piece_id, site.pk, pieces=-row.quantity * pieces, usable=True)
        entry.expect(part.pk, site.pk, pieces=pieces, usable=True)
        entry.lock("put together")
        taken = [
            each
            for row in needed
            for each in entry.take_out(entry.lots(row.piece_id, site.pk), row.quantity * pieces)
        ]
        new = NewLot(
            pieces=pieces,
            cents=sum(each.cents for each in taken),
            received_on=site.day_of(entry.posting.happened_at),
            condition=Condition.CHECKED,
            bin=bin,
            made_on=min((each.lot.made_on for each in taken if each.lot.made_on), default=None),
            came_from="Put together here",
        )
        entry.open_lot(part.pk, site.pk, new)

    return posting_once(
        key=key, kind=PostingKind.PUT_TOGETHER, by=by, at=at, occasion=occasion, work=work
    )


def counted_pieces(part: Part) -> list[MadeOf]:
    rows = [
        row
        for row in MadeOf.objects.filter(whole=part).select_related("piece")
        if row.piece.counted != Counted.NOT
    ]
    if not rows:
        raise ValidationError(
            f"Nothing is listed as a counted piece of {part.number}; list what it is made of first."
        )
    return rows


def weights_of(rows: Sequence[MadeOf], site: Site) -> list[int]:
    return weights([(row.piece, row.quantity) for row in rows], site)
