"""Assemblies and kits taken apart into their pieces, and put together from them."""

from collections.abc import Sequence
from datetime import date, datetime
from typing import Any

from django.core.exceptions import ValidationError

from inventory.catalog.models import Counted, MadeOf, Part
from inventory.ledger.actions.receiving import check_place
from inventory.ledger.entry import Entry, NewLot, Occasion, check_pieces, posting_once
from inventory.ledger.lots import share_of, split_evenly
from inventory.ledger.models import Lot, Posting, PostingKind
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
    at: datetime | None = None,
    occasion: Occasion | None = None,
) -> Posting:
    """Turn an assembly or kit into loose stock.

    `used` are pieces that go straight into the job and are not shelved. The cents of the whole go
    to the pieces by last cost, else list price, else equally, odd cents by largest remainder; a
    piece that is not counted has no shelf, and its share goes to the counted ones.
    """
    check_pieces(pieces, part)
    check_place(site, bin)
    shelved = counted_pieces(part, used)

    def work(entry: Entry) -> None:
        entry.expect(part, site, pieces=-pieces, usable=True)
        for row in shelved:
            entry.expect(row.piece, site, pieces=row.quantity * pieces, usable=True)
        entry.lock()
        taken = entry.take_out(entry.lots(part, site).usable(), pieces)
        shares = split_evenly(sum(each.cents for each in taken), weights_of(shelved, site))
        for row, cents in zip(shelved, shares, strict=True):
            new = NewLot(
                pieces=row.quantity * pieces,
                cents=cents,
                received_on=site.day_of(entry.posting.happened_at),
                bin=bin,
                made_on=oldest_make(taken[0].lot),
                maker_code=taken[0].lot.maker_code,
                came_from=f"{part.number} taken apart",
            )
            entry.open_lot(row.piece, site, new)

    return posting_once(
        key=key, kind=PostingKind.TAKEN_APART, by=by, at=at, occasion=occasion, work=work
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
    needed = counted_pieces(part, ())

    def work(entry: Entry) -> None:
        for row in needed:
            entry.expect(row.piece, site, pieces=-row.quantity * pieces, usable=True)
        entry.expect(part, site, pieces=pieces, usable=True)
        entry.lock()
        cents, made = 0, []
        for row in needed:
            lots = entry.lots(row.piece, site).usable()
            for taken in entry.take_out(lots, row.quantity * pieces):
                cents += taken.cents
                made.append(taken.lot.made_on)
        new = NewLot(
            pieces=pieces,
            cents=cents,
            received_on=site.day_of(entry.posting.happened_at),
            bin=bin,
            made_on=min((day for day in made if day), default=None),
            came_from="Put together here",
        )
        entry.open_lot(part, site, new)

    return posting_once(
        key=key, kind=PostingKind.PUT_TOGETHER, by=by, at=at, occasion=occasion, work=work
    )


def counted_pieces(part: Part, used: Sequence[Part]) -> list[MadeOf]:
    rows = [
        row
        for row in MadeOf.objects.filter(whole=part).select_related("piece")
        if row.piece.counted != Counted.NOT and row.piece not in used
    ]
    if not rows:
        raise ValidationError(
            f"Nothing is listed as a counted piece of {part.number}; list what it is made of first."
        )
    return rows


def weights_of(rows: Sequence[MadeOf], site: Site) -> list[int]:
    """Last cost of each piece where all are known, else list price, else equal weights."""
    costs = [last_cost(row.piece, site) for row in rows]
    if not all(costs):
        costs = [row.piece.list_price_cents or 0 for row in rows]
    if not all(costs):
        costs = [1] * len(rows)
    return [cost * row.quantity for cost, row in zip(costs, rows, strict=True)]


def last_cost(part: Part, site: Site) -> int:
    lots = Lot.objects.filter(shelf__part=part, cents_received__gt=0, pieces_received__gt=0)
    newest = lots.order_by("-received_on", "-pk")
    lot = newest.filter(shelf__site=site).first() or newest.first()
    return share_of(lot.cents_received, 1, lot.pieces_received) if lot else 0


def oldest_make(lot: Lot) -> date | None:
    return lot.made_on
