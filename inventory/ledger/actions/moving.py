"""Pieces that change their bin, their condition or their site, with their cents."""

from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from inventory.catalog.models import Part
from inventory.ledger.actions.issuing import take_from_named
from inventory.ledger.actions.receiving import check_place
from inventory.ledger.entry import Entry, NewLot, Occasion, check_pieces, posting_once
from inventory.ledger.lots import Taken
from inventory.ledger.models import (
    Borrowed,
    Condition,
    Lot,
    Movement,
    Posting,
    PostingKind,
    Transfer,
)
from inventory.shop.models import Bin, Site, SiteKind


def moved_lot(taken: Taken, condition: Condition, bin: Bin | None, prepared_for: str) -> NewLot:
    lot = taken.lot
    return NewLot(
        pieces=taken.pieces,
        cents=taken.cents,
        received_on=lot.received_on,
        condition=condition,
        bin=bin,
        made_on=lot.made_on,
        maker_code=lot.maker_code,
        prepared_for=prepared_for,
        came_from=lot.came_from,
    )


def move_stock(
    lot: Lot,
    *,
    pieces: int,
    by: Any,
    key: str,
    bin: Bin | None = None,
    condition: Condition | None = None,
    prepared_for: str = "",
    at: datetime | None = None,
    occasion: Occasion | None = None,
    words: str = "",
) -> Posting:
    """Move pieces of a lot to another bin or condition of the same site; the lot is split."""
    part, site = lot.shelf.part, lot.shelf.site
    check_pieces(pieces, part)
    check_place(site, bin)
    to = condition or Condition(lot.condition)
    if (to == Condition.PREPARED) != bool(prepared_for):
        raise ValidationError("A prepared sensor is kept for one job; write which.")

    def work(entry: Entry) -> None:
        entry.expect(part, site, pieces=-pieces, usable=lot.condition in Condition.usable())
        entry.expect(part, site, pieces=pieces, usable=to in Condition.usable())
        entry.lock()
        take_from_named(entry, lot, pieces)
        taken = Taken(lot=lot, pieces=pieces, cents=-entry.movements[-1].cents)
        entry.open_lot(part, site, moved_lot(taken, to, bin or lot.bin, prepared_for))

    return posting_once(
        key=key, kind=PostingKind.MOVED, by=by, at=at, occasion=occasion, work=work, words=words
    )


def send_transfer(
    part: Part,
    *,
    from_site: Site,
    to_site: Site,
    pieces: int,
    by: Any,
    key: str,
    borrowed: Borrowed = Borrowed.KEEP,
    at: datetime | None = None,
) -> Transfer:
    """Put pieces on the road to another site: on nobody's shelf until they are received there."""
    check_pieces(pieces, part)
    if from_site == to_site or SiteKind.TRANSIT in (from_site.kind, to_site.kind):
        raise ValidationError("Pieces move between two different sites; choose another one.")
    road = road_site()

    def work(entry: Entry) -> None:
        entry.expect(part, from_site, pieces=-pieces, usable=True)
        entry.expect(part, road, pieces=pieces, usable=True)
        entry.lock()
        for taken in entry.take_out(entry.lots(part, from_site).usable(), pieces):
            entry.open_lot(part, road, moved_lot(taken, Condition(taken.lot.condition), None, ""))

    with transaction.atomic():
        sent = posting_once(
            key=key,
            kind=PostingKind.MOVED,
            by=by,
            at=at,
            occasion=Occasion(words=f"{from_site.code} to {to_site.code}"),
            work=work,
        )
        transfer, _ = Transfer.objects.get_or_create(
            key=key,
            defaults={
                "part": part,
                "from_site": from_site,
                "to_site": to_site,
                "pieces": pieces,
                "sent": sent,
                "borrowed": borrowed,
            },
        )
    return transfer


def receive_transfer(
    transfer: Transfer, *, by: Any, key: str, bin: Bin | None = None, at: datetime | None = None
) -> Transfer:
    """Take what is on the road onto the shelf it was sent to."""
    check_place(transfer.to_site, bin)
    part, road = transfer.part, road_site()

    def work(entry: Entry) -> None:
        entry.expect(part, road, pieces=-transfer.pieces, usable=True)
        entry.expect(part, transfer.to_site, pieces=transfer.pieces, usable=True)
        entry.lock()
        sent = Movement.objects.filter(posting=transfer.sent, pieces__gt=0)
        for lot in Lot.objects.filter(movements__in=sent).select_related("shelf"):
            taken = entry.take_from(lot, lot.pieces_left)
            new = moved_lot(taken, Condition(lot.condition), bin, "")
            entry.open_lot(part, transfer.to_site, new)

    with transaction.atomic():
        locked = Transfer.objects.select_for_update().get(pk=transfer.pk)
        if locked.received_id and locked.received and locked.received.key != key:
            raise ValidationError("This transfer was received already; nothing is on the road.")
        received = posting_once(
            key=key,
            kind=PostingKind.MOVED,
            by=by,
            at=at,
            occasion=Occasion(words=f"{transfer.from_site.code} to {transfer.to_site.code}"),
            work=work,
        )
        Transfer.objects.filter(pk=transfer.pk).update(received=received)
    transfer.refresh_from_db()
    return transfer


def road_site() -> Site:
    return Site.objects.get_or_create(
        kind=SiteKind.TRANSIT, defaults={"code": "road", "name": "In transit"}
    )[0]
