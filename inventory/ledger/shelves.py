"""One conditional UPDATE per shelf: it refuses what is not there, and it is the lock.

The row stays locked till the end of the transaction, and with it all lots of the shelf. Whoever
needs several shelves takes them in the order of part and site.
"""

from collections.abc import Iterable
from dataclasses import asdict, dataclass

from django.core.exceptions import ValidationError
from django.db import connection, transaction

from inventory.catalog.models import Counted, Part
from inventory.ledger.models import Shelf
from inventory.shop.models import Bin, Site, SiteKind

ShelfKey = tuple[int, int]
"""Primary keys of part and site."""

# In plain SQL because the ORM cannot have an UPDATE tell which row it changed. The conditions are
# those of the table's own constraint, which stays the net beneath.
CHANGE = """
UPDATE inventory_shelf
SET on_hand = on_hand + %(on_hand)s, usable = usable + %(usable)s, held = held + %(held)s
WHERE part_id = %(part)s AND site_id = %(site)s
  AND on_hand + %(on_hand)s >= usable + %(usable)s
  AND usable + %(usable)s >= held + %(held)s
  AND held + %(held)s >= 0
RETURNING id
"""


@dataclass(slots=True)
class Delta:
    """What one posting changes on one shelf."""

    on_hand: int = 0
    usable: int = 0
    held: int = 0

    @property
    def available(self) -> int:
        return self.usable - self.held


def change_shelf(key: ShelfKey, delta: Delta) -> int | None:
    """The shelf's pk, or None if it could not take the change.

    A shelf is made when something first comes to it.
    """
    if changed := _changed(key, delta):
        return changed
    if delta.on_hand < 0 or delta.available < 0 or delta.held < 0:
        return None
    make_shelves([key])
    return _changed(key, delta)


def _changed(key: ShelfKey, delta: Delta) -> int | None:
    values = {"part": key[0], "site": key[1], **asdict(delta)}
    with connection.cursor() as cursor:
        cursor.execute(CHANGE, values)
        row = cursor.fetchone()
    return row[0] if row else None


def make_shelves(keys: Iterable[ShelfKey]) -> None:
    rows = [Shelf(part_id=part, site_id=site) for part, site in keys]
    Shelf.objects.bulk_create(rows, ignore_conflicts=True)


def lock_shelves(keys: Iterable[ShelfKey]) -> dict[ShelfKey, int]:
    """Take shelves in key order, before several postings of one transaction; makes missing ones.

    Their pks by key.
    """
    with transaction.atomic():
        locked = {key: change_shelf(key, Delta()) for key in sorted(set(keys))}
    return {key: pk for key, pk in locked.items() if pk is not None}


def refusal(key: ShelfKey, delta: Delta, verb: str = "issue") -> str:
    """Why a shelf could not take a change: what is there, what is promised, what to do next."""
    part = Part.objects.get(pk=key[0])
    site = Site.objects.get(pk=key[1])
    shelf = Shelf.objects.filter(part=part, site=site).first() or Shelf(part=part, site=site)
    wanted = -delta.available if delta.available < 0 else -delta.on_hand
    free = shelf.available if delta.available < 0 else shelf.on_hand
    if free <= 0 and shelf.held:
        return (
            f"All {shelf.held} of {part.number} at {site} are promised to jobs; "
            "release a hold or receive stock first."
        )
    if free <= 0:
        return f"None of {part.number} on the shelf at {site}; receive stock first."
    if shelf.held and delta.available < 0:
        return (
            f"Only {free} of {part.number} free at {site}, not {wanted}; the other "
            f"{shelf.held} are promised to jobs: {verb} {free} or fewer, or release a hold first."
        )
    return (
        f"Only {free} of {part.number} on the shelf at {site}, not {wanted}; "
        f"{verb} {free} or fewer, or receive stock first."
    )


def check_pieces(pieces: int, part: Part) -> None:
    if pieces < 1:
        raise ValidationError(
            f"{pieces} pieces of {part.number} cannot be posted; write 1 or more."
        )
    if part.counted == Counted.NOT:
        raise ValidationError(
            f"{part.number} is not counted, so nothing of it is posted; "
            "change how it is counted first."
        )


def check_cents(cents: int, part: Part) -> None:
    if cents < 0:
        raise ValidationError(f"The value of {part.number} cannot be below 0; write what it cost.")


def check_place(site: Site, bin: Bin | None) -> None:
    if site.kind == SiteKind.TRANSIT:
        raise ValidationError(
            f"Nothing is received at {site}; receive it at the site it is going to."
        )
    check_bin(site, bin)


def check_bin(site: Site, bin: Bin | None) -> None:
    if bin is not None and bin.site_id != site.pk:
        raise ValidationError(f"Bin {bin} is not at {site}; choose a bin of that site.")


def check_sells(site: Site) -> None:
    if site.kind == SiteKind.TRANSIT:
        raise ValidationError(
            f"Nothing is sold or promised at {site}; receive it at the site it is going to first."
        )
