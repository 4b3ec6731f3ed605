"""Pieces that come in from outside: bought, found at the start, taken off a vehicle."""

from datetime import date, datetime
from typing import Any

from inventory.catalog.models import Part
from inventory.ledger.entry import Entry, NewLot, Occasion, posting_once
from inventory.ledger.models import Condition, Posting, PostingKind
from inventory.ledger.shelves import check_cents, check_pieces, check_place
from inventory.shop.models import Bin, Site


def receive_stock(
    part: Part,
    *,
    site: Site,
    pieces: int,
    value_cents: int,
    by: Any,
    key: str,
    bin: Bin | None = None,
    made_on: date | None = None,
    maker_code: str = "",
    came_from: str = "",
    condition: Condition = Condition.SEALED,
    kind: PostingKind = PostingKind.RECEIVED,
    at: datetime | None = None,
    occasion: Occasion | None = None,
) -> Posting:
    """One new lot worth `value_cents` in all."""
    check_pieces(pieces, part)
    check_cents(value_cents, part)
    check_place(site, bin)

    def work(entry: Entry) -> None:
        usable = condition in Condition.usable()
        entry.expect(part.pk, site.pk, pieces=pieces, usable=usable)
        entry.lock()
        new = NewLot(
            pieces=pieces,
            cents=value_cents,
            received_on=site.day_of(entry.posting.happened_at),
            condition=condition,
            bin=bin,
            made_on=made_on,
            maker_code=maker_code,
            came_from=came_from,
        )
        entry.open_lot(part.pk, site.pk, new)

    return posting_once(key=key, kind=kind, by=by, at=at, occasion=occasion, work=work)


def take_off_car(
    part: Part,
    *,
    site: Site,
    by: Any,
    key: str,
    occasion: Occasion,
    pieces: int = 1,
    bin: Bin | None = None,
    maker_code: str = "",
    at: datetime | None = None,
) -> Posting:
    """A failed part comes in at 0 cents, to be claimed; it is never sold."""
    return receive_stock(
        part,
        site=site,
        pieces=pieces,
        value_cents=0,
        by=by,
        key=key,
        bin=bin,
        maker_code=maker_code,
        came_from=occasion.words,
        condition=Condition.CLAIM,
        kind=PostingKind.TAKEN_OFF,
        at=at,
        occasion=occasion,
    )
