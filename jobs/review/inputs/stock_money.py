"""The money in the shelves by kind of part: its mean over some days, and what lies dead in it."""

from collections import defaultdict
from datetime import date, datetime, time, timedelta
from typing import NamedTuple
from zoneinfo import ZoneInfo

from django.db.models import Exists, Max, OuterRef, Subquery, Sum
from django.db.models.functions import TruncDate

from inventory.ledger.models import Lot, Movement, PostingKind, Shelf
from inventory.shop.models import Site
from jobs.costing.ratios import mean_stock

DEAD_AFTER_DAYS = 365


def stock_now(site: Site | None) -> dict[str, int]:
    """What lies in all shelves now, at what it cost, by kind of part."""
    lots = Lot.objects.left()
    if site is not None:
        lots = lots.filter(shelf__site=site)
    kinds = lots.order_by().values_list("shelf__part__kind")
    return dict(kinds.annotate(cents=Sum("cents_left")))


def mean_stocks(
    now: dict[str, int], *, first: date, days: int, site: Site | None
) -> dict[str, float]:
    """The mean of what lay there at the close of each day (UTC), by kind of part."""
    start = datetime.combine(first, time.min, ZoneInfo("UTC"))
    moved = Movement.objects.filter(posting__happened_at__gte=start)
    if site is not None:
        moved = moved.filter(site=site)
    by_day = moved.order_by().values_list("part__kind", TruncDate("posting__happened_at"))
    changes: defaultdict[str, list[tuple[int, int]]] = defaultdict(list)
    for kind, day, cents in by_day.annotate(sum=Sum("cents")):
        changes[kind].append(((day - first).days, cents))
    return {
        kind: mean_stock(now.get(kind, 0), changes[kind], days=days)
        for kind in now.keys() | changes.keys()
    }


class DeadStock(NamedTuple):
    """A part that lies on a shelf from which nobody took one for a year."""

    part: int
    number: str
    words: str
    kind: str
    site: str
    pieces: int
    cents: int
    last_issued: date | None


def dead_stock(*, today: date, site: Site | None) -> list[DeadStock]:
    """The dearest first. What came in less than a year ago is not dead yet."""
    since = datetime.combine(today - timedelta(days=DEAD_AFTER_DAYS), time.min, ZoneInfo("UTC"))
    issued = Movement.objects.filter(
        part=OuterRef("part"), site=OuterRef("site"), posting__kind=PostingKind.ISSUED
    )
    recent = Lot.objects.filter(shelf=OuterRef("pk"), received_on__gte=since.date()).left()
    last = issued.order_by().values("part").annotate(at=Max("posting__happened_at")).values("at")
    shelves = Shelf.objects.stocked().with_value().annotate(last_issued=Subquery(last))
    if site is not None:
        shelves = shelves.at(site)
    lately = issued.filter(posting__happened_at__gte=since)
    dead = shelves.exclude(Exists(lately)).exclude(Exists(recent))
    named = dead.order_by("pk").values_list(
        *("part", "part__number", "part__words", "part__kind", "site__name", "on_hand"),
        *("value_cents", "last_issued"),
    )
    rows = [DeadStock._make([*row, at.date() if at else None]) for *row, at in named]
    return sorted((row for row in rows if row.cents), key=lambda row: -row.cents)
