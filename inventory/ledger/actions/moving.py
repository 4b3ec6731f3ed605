"""Pieces that change their bin, their condition or their site, with their cents."""

from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from inventory.catalog.models import Part
from inventory.ledger.actions.correcting import scrap_stock
from inventory.ledger.entry import Entry, NewLot, Occasion, posting_once
from inventory.ledger.lots import Taken
from inventory.ledger.models import (
    Borrowed,
    Condition,
    Lot,
    Posting,
    PostingKind,
    Transfer,
)
from inventory.ledger.shelves import check_bin, check_pieces, check_place, lock_shelves
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
        from_lot=lot,
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
    to_site: Site | None = None,
    at: datetime | None = None,
    occasion: Occasion | None = None,
    words: str = "",
) -> Posting:
    """Move pieces of a lot to another bin, condition or site at once; the lot is split.

    What travels is sent and received instead: `send_transfer`, `receive_transfer`.
    """
    part, site, target = lot.shelf.part, lot.shelf.site, to_site or lot.shelf.site
    check_pieces(pieces, part)
    check_bin(target, bin)
    if target != site:
        check_place(target, bin)
    elif bin is None:
        bin = lot.bin
    to = condition or Condition(lot.condition)
    if (to == Condition.PREPARED) != bool(prepared_for):
        raise ValidationError("A prepared sensor is kept for one job; write which.")
    if (target, bin, to) == (site, lot.bin, lot.condition) and prepared_for == lot.prepared_for:
        raise ValidationError(
            f"Lot {lot.key} lies there already; choose another bin, condition or site."
        )

    def work(entry: Entry) -> None:
        entry.expect(part.pk, site.pk, pieces=-pieces, usable=lot.is_usable)
        entry.expect(part.pk, target.pk, pieces=pieces, usable=to in Condition.usable())
        entry.lock("move")
        taken = entry.take_from(lot, pieces)
        entry.open_lot(part.pk, target.pk, moved_lot(taken, to, bin, prepared_for))

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
    sends_back: Transfer | None = None,
    at: datetime | None = None,
) -> Transfer:
    """Put pieces on the road to another site: on nobody's shelf until they are received there."""
    check_pieces(pieces, part)
    if from_site == to_site or SiteKind.TRANSIT in (from_site.kind, to_site.kind):
        raise ValidationError("Pieces move between two different sites; choose another one.")
    road = road_site()

    def work(entry: Entry) -> None:
        entry.expect(part.pk, from_site.pk, pieces=-pieces, usable=True)
        entry.expect(part.pk, road.pk, pieces=pieces, usable=True)
        entry.lock("send")
        for taken in entry.take_out(entry.lots(part.pk, from_site.pk), pieces):
            new = moved_lot(taken, Condition(taken.lot.condition), None, "")
            entry.open_lot(part.pk, road.pk, new)

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
                "sends_back": sends_back,
            },
        )
    return transfer


def receive_transfer(
    transfer: Transfer,
    *,
    by: Any,
    key: str,
    bin: Bin | None = None,
    lost: int = 0,
    at: datetime | None = None,
) -> Transfer:
    """Take what is on the road onto the shelf it was sent to.

    Pieces `lost` on the road are scrapped there first; the rest arrives.
    """
    part, road, to_site = transfer.part, road_site(), transfer.to_site
    check_place(to_site, bin)
    if not 0 <= lost < transfer.pieces:
        raise ValidationError(
            f"{lost} of {transfer.pieces} cannot have been lost and the rest have come; "
            f"if all are lost, undo the sending and scrap them at {transfer.from_site}."
        )

    def work(entry: Entry) -> None:
        entry.keep_still([(part.pk, road.pk), (part.pk, to_site.pk)])
        # A lot that travelled was opened by the sending, and has what is still on the road.
        lots = entry.lots(part.pk, road.pk, movements__posting=transfer.sent_id)
        if not lots:
            raise ValidationError("This transfer was received already; nothing is on the road.")
        for lot in lots:
            entry.expect(part.pk, road.pk, pieces=-lot.pieces_left, usable=lot.is_usable)
            entry.expect(part.pk, to_site.pk, pieces=lot.pieces_left, usable=lot.is_usable)
        entry.lock("receive")
        for lot in lots:
            entry.changed[lot.pk] = lot
            taken = entry.take_from(lot, lot.pieces_left)
            new = moved_lot(taken, Condition(lot.condition), bin, "")
            entry.open_lot(part.pk, to_site.pk, new)

    with transaction.atomic():
        lock_shelves([(part.pk, road.pk), (part.pk, to_site.pk)])
        _scrap_lost(transfer, road, lost, by=by, key=key, at=at)
        received = posting_once(
            key=key,
            kind=PostingKind.MOVED,
            by=by,
            at=at,
            occasion=Occasion(words=f"{transfer.from_site.code} to {to_site.code}"),
            work=work,
        )
        Transfer.objects.filter(pk=transfer.pk, received=None).update(received=received)
    transfer.refresh_from_db()
    return transfer


def _scrap_lost(
    transfer: Transfer, road: Site, lost: int, *, by: Any, key: str, at: datetime | None
) -> None:
    """From the lots that the sending opened; a key whose transfer was received scraps no more."""
    if not lost or Posting.objects.filter(key=key).exists():
        return
    lots = Lot.objects.left().filter(movements__posting=transfer.sent_id, shelf__site=road)
    for number, lot in enumerate(lots.select_related("shelf").oldest_first(), start=1):
        pieces = min(lost, lot.pieces_left)
        if not pieces:
            break
        scrap_stock(
            transfer.part,
            site=road,
            pieces=pieces,
            by=by,
            key=f"{key}/lost/{number}",
            words="Lost on the road",
            lot=lot,
            at=at,
        )
        lost -= pieces


def send_back(transfer: Transfer, *, by: Any, key: str, at: datetime | None = None) -> Transfer:
    """Send what was borrowed on its way home; once, whoever asks again."""
    with transaction.atomic():
        # Shelves before the transfer, as in every posting of one.
        lock_shelves([(transfer.part_id, transfer.to_site_id), (transfer.part_id, road_site().pk)])
        lent = _locked(transfer)
        if lent.borrowed != Borrowed.SEND_BACK or lent.received_id is None:
            raise ValidationError("Only what was borrowed and has arrived is sent back.")
        if back := Transfer.objects.filter(sends_back=lent).exclude(key=key).first():
            raise ValidationError(f"This is on its way back already, as {back.key}.")
        return send_transfer(
            lent.part,
            from_site=lent.to_site,
            to_site=lent.from_site,
            pieces=lent.pieces,
            by=by,
            key=key,
            sends_back=lent,
            at=at,
        )


@transaction.atomic
def keep_borrowed(transfer: Transfer) -> Transfer:
    """Agree that what was borrowed stays."""
    _locked(transfer)
    if Transfer.objects.filter(sends_back=transfer).exists():
        raise ValidationError("This is on its way back already; receive it there instead.")
    Transfer.objects.filter(pk=transfer.pk).update(borrowed=Borrowed.KEEP)
    transfer.refresh_from_db()
    return transfer


def _locked(transfer: Transfer) -> Transfer:
    """As it stands now; who would send it back or keep it at the same moment waits."""
    return Transfer.objects.select_for_update(no_key=True).get(pk=transfer.pk)


def road_site() -> Site:
    return Site.objects.get_or_create(
        kind=SiteKind.TRANSIT, defaults={"code": "road", "name": "In transit"}
    )[0]
