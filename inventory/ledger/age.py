"""How old what lies on the shelves is: the oldest, past its shelf life, not moved for long."""

from calendar import monthrange
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Exists, OuterRef
from django.utils import timezone

from inventory.ledger.models import Lot, Movement, PostingKind, Shelf
from inventory.shop.models import Site

STILL_DAYS = 365
# What only puts the books right, or the pieces into another bin, has sold or brought nothing.
NOT_TRADE = (PostingKind.COUNTED, PostingKind.REVALUED, PostingKind.MOVED, PostingKind.UNDONE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Aged:
    """Pieces of a part with the day they count from, and the last day they are good, if told."""

    lot: Lot
    since: date
    good_until: date | None


def oldest(site: Site) -> list[Aged]:
    lots = Lot.objects.left().filter(shelf__site=site).select_related("shelf__part", "bin")
    return [_aged(lot) for lot in lots.oldest_first()]


def past_shelf_life(site: Site) -> list[Aged]:
    """Longest past it first."""
    today = site.today()
    past = [each for each in oldest(site) if each.good_until and each.good_until < today]
    return sorted(past, key=lambda each: (each.good_until or today, each.lot.pk))


def _aged(lot: Lot) -> Aged:
    since, life = lot.made_on or lot.received_on, lot.shelf.part.shelf_life_months
    return Aged(lot=lot, since=since, good_until=months_later(since, life) if life else None)


def not_moved(site: Site) -> list[Shelf]:
    """Shelves from which nothing was sold, and to which nothing came, for a year; dearest first."""
    since = timezone.now() - timedelta(days=STILL_DAYS)
    moved = Movement.objects.filter(
        part=OuterRef("part"), site=OuterRef("site"), posting__happened_at__gt=since
    ).exclude(posting__kind__in=NOT_TRADE)
    shelves = Shelf.objects.stocked().at(site).filter(~Exists(moved)).select_related("part")
    return sorted(shelves.with_value(), key=lambda each: (-each.value_cents, each.part.number))


def months_later(day: date, months: int) -> date:
    """The same day of a later month, or that month's last.

    >>> months_later(date(2024, 1, 31), 1), months_later(date(2024, 3, 5), 24)
    (datetime.date(2024, 2, 29), datetime.date(2026, 3, 5))
    """
    years, month = divmod(day.month - 1 + months, 12)
    year = day.year + years
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))
