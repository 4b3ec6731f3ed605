"""What was asked for and when it could be seen: the history of every part-site, week by week."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from zoneinfo import ZoneInfo

import numpy as np
from django.db.models import Count, Q, Sum
from django.db.models.functions import TruncDate
from numpy.typing import NDArray

from inventory.catalog.models import Part
from inventory.ledger.models import Ask, AskOutcome, Condition, How, Movement
from inventory.reorder.inputs.days import days_by_week, days_seen
from inventory.reorder.inputs.facts import (
    LARGEST_ASK,
    WEEKS,
    WEEKS_A_YEAR,
    History,
    Ints,
    Rows,
    coded,
)
from inventory.reorder.inputs.stock import AT_A_TIME, COUNTED_PART, table
from inventory.reorder.models import ExpectedAsk
from inventory.shop.models import Site, SiteKind

HALF_LIFE_WEEKS = 52.0
EXPECTED_WEEKS = 26
DAYS = WEEKS * 7

Expected = list[tuple[int, int, float, float]]
"""Part, site, mean and variance of the asks to come within EXPECTED_WEEKS."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Kinds:
    """Kind of part of every row, and its group: the kind at its site."""

    words: list[str]
    kind: Ints
    group: Ints

    @classmethod
    def of(cls, rows: Rows) -> "Kinds":
        named = dict(Part.objects.order_by().values_list("pk", "kind"))
        words = sorted(set(named.values()))
        kind_of = {pk: words.index(kind) for pk, kind in named.items()}
        kind = np.array([kind_of[pk] for pk in rows.part.tolist()], dtype=np.int64)
        sites, site = np.unique(rows.site, return_inverse=True)
        return cls(words=words, kind=kind, group=kind * max(1, len(sites)) + site)


def history_of(
    as_of: date, rows: Rows, asks: Ints, moved: Ints, expected: Expected, sites: list[Site]
) -> History:
    kinds, n = Kinds.of(rows), len(rows.part)
    row, day, pieces, count = rows.of(asks[:, 0], asks[:, 1]), *asks[:, 2:].T
    seen = days_seen(
        **_columns(rows, moved), logged_from=_logged_from(as_of, rows, sites), n_days=DAYS
    )
    visible = seen[row, day]
    row, day, pieces, count = row[visible], day[visible], pieces[visible], count[visible]
    row, day, pieces, count = split(row, day, pieces, count)
    week = row * WEEKS + day // 7
    occasions = np.bincount(week, weights=count, minlength=n * WEEKS).reshape(n, WEEKS)
    sizes = LARGEST_ASK + 1
    by_size = np.bincount(row * sizes + pieces, weights=count, minlength=n * sizes)
    mean, variance = _expected(rows, expected)
    return History(
        kinds=kinds.words,
        occasions=occasions.astype(np.int64),
        exposure_days=days_by_week(seen),
        asks_by_size=by_size.reshape(n, sizes).astype(np.int64)[:, : largest(pieces) + 1],
        kind=kinds.kind,
        group=kinds.group,
        week_of_year=weeks_of_year(as_of),
        coming_week=week_of_year(as_of + timedelta(days=4)),
        half_life_weeks=HALF_LIFE_WEEKS,
        expected_mean=mean,
        expected_variance=variance,
        expected_days=EXPECTED_WEEKS * 7.0,
    )


def split(row: Ints, day: Ints, pieces: Ints, count: Ints) -> tuple[Ints, Ints, Ints, Ints]:
    """Asks for very many pieces as several asks: whole ones of the largest, and the rest."""
    whole, rest = np.divmod(pieces, LARGEST_ASK)
    several, some = whole > 0, rest > 0
    return (
        np.concatenate([row[several], row[some]]),
        np.concatenate([day[several], day[some]]),
        np.concatenate([np.full(several.sum(), LARGEST_ASK), rest[some]]),
        np.concatenate([(count * whole)[several], count[some]]),
    )


def largest(pieces: Ints) -> int:
    return int(pieces.max(initial=1))


def week_of_year(day: date) -> int:
    return min((day.timetuple().tm_yday - 1) // 7, WEEKS_A_YEAR - 1)


def weeks_of_year(as_of: date) -> Ints:
    """The week of the year in which the middle of every week of the history falls."""
    middle = first_day(as_of) + timedelta(days=3)
    return np.array([week_of_year(middle + timedelta(weeks=n)) for n in range(WEEKS)])


def _columns(rows: Rows, moved: Ints) -> dict[str, Ints]:
    inside = np.isin(coded(moved[:, 0], moved[:, 1]), rows.code)
    part, site, day, pieces = moved[inside].T
    return {"row": rows.of(part, site), "day": day, "pieces": pieces}


def _logged_from(as_of: date, rows: Rows, sites: list[Site]) -> Ints:
    """By row, the day of the history from which its site writes down lost asks."""
    start = first_day(as_of)
    days = {
        site.pk: max(0, min((site.asks_logged_from - start).days, DAYS))
        if site.asks_logged_from
        else DAYS
        for site in sites
    }
    return np.array([days[pk] for pk in rows.site.tolist()], dtype=np.int64)


def _expected(rows: Rows, expected: Expected) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    mean, variance = np.zeros(len(rows.part)), np.zeros(len(rows.part))
    if expected:
        part, site, means, variances = zip(*expected, strict=True)
        row = rows.of(np.array(part), np.array(site))
        mean[row], variance[row] = means, variances
    return mean, variance


def first_day(as_of: date) -> date:
    """The history ends with the day of the plan and is whole weeks long."""
    return as_of - timedelta(days=DAYS - 1)


def read_asks(as_of: date) -> Ints:
    """(part, site, day, pieces, asks): demand by day, what was declined or withdrawn taken off."""
    window = Q(day__gte=first_day(as_of), day__lte=as_of, wish=False)
    sold = ~Q(site__kind=SiteKind.TRANSIT)
    asks = Ask.objects.filter(window, sold, **COUNTED_PART).order_by()
    grouped = asks.values_list("part_id", "site_id", "day", "pieces").annotate(asks=Count("pk"))
    start = first_day(as_of).toordinal()
    made = (
        (part, site, day.toordinal() - start, pieces, count)
        for part, site, day, pieces, count in grouped.iterator(AT_A_TIME)
    )
    return table((*made, *_taken_back(as_of, start)), 5)


def _taken_back(as_of: date, start: int) -> Iterator[tuple[int, int, int, int, int]]:
    """An ask declined in part counts as one for fewer pieces; declined whole, as none."""
    gone = (
        AskOutcome.objects.filter(how__in=How.no_demand(), ask__wish=False)
        .filter(ask__day__gte=first_day(as_of), ask__day__lte=as_of)
        .filter(**{f"ask__{name}": value for name, value in COUNTED_PART.items()})
        .exclude(ask__site__kind=SiteKind.TRANSIT)
        .order_by()
        .values_list("ask_id", "ask__part_id", "ask__site_id", "ask__day", "ask__pieces")
        .annotate(gone=Sum("pieces"))
    )
    for _, part, site, day, pieces, taken in gone:
        if taken > 0:
            yield part, site, day.toordinal() - start, pieces, -1
            if taken < pieces:
                yield part, site, day.toordinal() - start, pieces - taken, 1


def read_usable_by_day(as_of: date, sites: list[Site]) -> Ints:
    """(part, site, day, pieces) that came to the usable shelf or left it, day by day.

    Only for sites and times without a log of lost asks; elsewhere every day is seen anyway.
    """
    start = first_day(as_of)
    blind = [site for site in sites if not site.asks_logged_from or site.asks_logged_from > start]
    rows: list[tuple[int, int, int, int]] = []
    for zone in sorted({site.zone for site in blind}):
        day = TruncDate("posting__happened_at", tzinfo=ZoneInfo(zone))
        moved = (
            Movement.objects.filter(site__in=[site.pk for site in blind if site.zone == zone])
            .filter(lot__condition__in=Condition.usable(), **COUNTED_PART)
            .exclude(pieces=0)
            .order_by()
            .annotate(day=day)
            .values_list("part_id", "site_id", "day")
            .annotate(total=Sum("pieces"))
        )
        rows.extend(
            (part, site, (day - start).days, total) for part, site, day, total in moved if total
        )
    return table(rows, 4)


def read_expected(as_of: date) -> Expected:
    """(part, site, mean, variance) of the asks the vehicles lead us to expect."""
    monday = as_of - timedelta(days=as_of.weekday())
    weeks = Q(week__gte=monday, week__lt=monday + timedelta(weeks=EXPECTED_WEEKS))
    expected = ExpectedAsk.objects.filter(weeks, **COUNTED_PART).order_by()
    summed = expected.values_list("part_id", "site_id")
    return list(summed.annotate(mean_sum=Sum("mean"), variance_sum=Sum("variance")))
