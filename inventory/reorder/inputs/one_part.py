"""The past of one part at one site, as its "why" page tells it: asks, stock, deliveries, plans.

What a plan knows of all parts at once is read elsewhere; here a few queries read one part whole.
"""

from collections import Counter
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import accumulate
from zoneinfo import ZoneInfo

from django.db.models import Q, Sum
from django.db.models.functions import TruncDate

from inventory.ledger.models import Ask, Condition, How, Movement
from inventory.reorder.inputs.superseded import read_superseded
from inventory.reorder.inputs.waits import read_waits
from inventory.reorder.models import PlanLine, PlanStatus
from inventory.shop.models import Site

WEEKS_TOLD = 52
DAYS_TOLD = WEEKS_TOLD * 7


@dataclass(frozen=True, slots=True, kw_only=True)
class PartWeek:
    """Seven days: how often the part was asked for, and days that opened with an empty shelf."""

    first: date
    asks: int
    pieces: int
    days_out: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PartPast:
    """With the past of the parts it superseded, whose demand it took over.

    numbers : the part's own first, then those of the older ones
    weeks : oldest first
    asks_by_size : how often so many pieces were asked for at once
    on_hand : (day, pieces at its end) from the first day told, where they changed
    reorder_points : (day, reorder point) of every plan that is kept
    deliveries_by_days : how often the supplier took so many days
    """

    numbers: tuple[str, ...]
    weeks: tuple[PartWeek, ...]
    asks_by_size: Counter[int]
    on_hand: tuple[tuple[date, int], ...]
    reorder_points: tuple[tuple[date, int], ...]
    deliveries_by_days: Counter[int]

    @property
    def first(self) -> date:
        return self.weeks[0].first

    @property
    def last(self) -> date:
        return self.weeks[-1].first + timedelta(days=6)


def part_past(line: PlanLine) -> PartPast:
    """The year before a plan. A week ends with the plan's day, so that all are whole."""
    last = line.run.as_of
    first = last - timedelta(days=DAYS_TOLD - 1)
    superseded = read_superseded(last)
    older = [old for old, new in superseded.newest.items() if new == line.part_id]
    parts = [line.part_id, *older]
    asks = _asks(parts, line.site, first, last)
    levels = _levels(parts, line.site, first, last)
    return PartPast(
        numbers=(line.part.number, *sorted(superseded.number[old] for old in older)),
        weeks=tuple(_weeks(asks, levels, first)),
        asks_by_size=Counter(pieces for _, pieces in asks),
        on_hand=tuple(_changes(levels, first)),
        reorder_points=tuple(_reorder_points(line, first)),
        deliveries_by_days=_deliveries(line.supplier_id),
    )


def _deliveries(supplier: int | None) -> Counter[int]:
    return Counter(days for _, days, _ in read_waits(supplier).tolist()) if supplier else Counter()


def _asks(parts: list[int], site: Site, first: date, last: date) -> list[tuple[int, int]]:
    """(day, pieces) of every ask that was demand, without what was declined or withdrawn."""
    no_demand = Q(outcomes__how__in=How.no_demand())
    asks = (
        Ask.objects.filter(part__in=parts, site=site, wish=False)
        .filter(day__gte=first, day__lte=last)
        .order_by()
        .annotate(gone=Sum("outcomes__pieces", filter=no_demand, default=0))
        .values_list("day", "pieces", "gone")
    )
    return [((day - first).days, pieces - gone) for day, pieces, gone in asks if pieces > gone]


def _levels(parts: list[int], site: Site, first: date, last: date) -> list[int]:
    """Pieces to be had at the opening of the first day, then at the end of every day."""
    zone = ZoneInfo(site.zone)
    moved = (
        Movement.objects.filter(part__in=parts, site=site)
        .filter(lot__condition__in=Condition.usable())
        .exclude(pieces=0)
        .order_by()
        .annotate(day=TruncDate("posting__happened_at", tzinfo=zone))
        .values_list("day")
        .annotate(total=Sum("pieces"))
    )
    change = [0] * (DAYS_TOLD + 1)
    for day, total in moved:
        if day <= last:
            change[max(0, (day - first).days + 1)] += total
    return list(accumulate(change))


def _weeks(asks: list[tuple[int, int]], levels: list[int], first: date) -> list[PartWeek]:
    times, pieces = [0] * WEEKS_TOLD, [0] * WEEKS_TOLD
    for day, wanted in asks:
        times[day // 7] += 1
        pieces[day // 7] += wanted
    return [
        PartWeek(
            first=first + timedelta(weeks=week),
            asks=times[week],
            pieces=pieces[week],
            # The level at the end of a day is that of the next opening.
            days_out=sum(level <= 0 for level in levels[7 * week : 7 * week + 7]),
        )
        for week in range(WEEKS_TOLD)
    ]


def _changes(levels: list[int], first: date) -> list[tuple[date, int]]:
    told = [(first, levels[0])]
    for day, level in enumerate(levels[1:]):
        if level != told[-1][1]:
            told.append((first + timedelta(days=day), level))
    return told


def _reorder_points(line: PlanLine, first: date) -> list[tuple[date, int]]:
    """One a day: of several plans of a day the last one holds."""
    lines = PlanLine.objects.filter(part=line.part_id, site=line.site_id)
    told = lines.filter(
        run__status=PlanStatus.DONE, run__as_of__gte=first, run__as_of__lte=line.run.as_of
    ).order_by("run__as_of", "run__asked_at", "run")
    points = dict(told.values_list("run__as_of", "reorder_point"))
    return list((points | {line.run.as_of: line.reorder_point}).items())
