"""Stock that left without a sale: scrapped, and lost or found in counts. Cents."""

from datetime import date, datetime, time, timedelta
from typing import NamedTuple
from zoneinfo import ZoneInfo

from inventory.ledger.models import Movement, PostingKind
from inventory.shop.models import Site

KINDS = (PostingKind.SCRAPPED, PostingKind.COUNTED)
# The instants of a day differ by this much between the zones of two sites.
A_DAY = timedelta(days=1)


class WriteOff(NamedTuple):
    """One movement; `cents` are those lost, below 0 where a count found more."""

    day: date
    site: str
    part: int
    number: str
    kind: str
    words: str
    pieces: int
    cents: int

    @property
    def kind_words(self) -> str:
        return PostingKind(self.kind).label


# The instant and the zone it is a day of, then the other fields of WriteOff in their order.
LOOKUPS = (
    *("posting__happened_at", "site__zone", "site__name", "part", "part__number"),
    *("posting__kind", "posting__words", "pieces", "cents"),
)


def written_off(*, first: date, last: date, site: Site | None = None) -> list[WriteOff]:
    """What was written off on the sites' own days from first to last, the latest first."""
    start = datetime.combine(first, time.min, ZoneInfo("UTC")) - A_DAY
    end = datetime.combine(last, time.max, ZoneInfo("UTC")) + A_DAY
    rows = Movement.objects.filter(
        posting__kind__in=KINDS,
        posting__happened_at__range=(start, end),
        posting__undone_by=None,
    )
    if site is not None:
        rows = rows.filter(site=site)
    named = rows.order_by("-posting__happened_at", "-pk").values_list(*LOOKUPS)
    found = [WriteOff._make([_day(at, zone), *rest[:-1], -rest[-1]]) for at, zone, *rest in named]
    return [one for one in found if first <= one.day <= last]


def _day(at: datetime, zone: str) -> date:
    return at.astimezone(ZoneInfo(zone)).date()
