"""What jobs needed together in the last year: every part that was asked for under one job's key."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Q, QuerySet, Sum

from inventory.catalog.models import Counted, MadeOf
from inventory.ledger.models import Ask, AskOutcome, How
from inventory.reorder.inputs.facts import Ints
from inventory.reorder.inputs.stock import AT_A_TIME, COUNTED_PART, table
from inventory.reorder.inputs.superseded import Superseded, read_superseded
from inventory.shop.models import SiteKind

DAYS_LOOKED_AT = 365

Needed = tuple[str, int, int, int]
"""Job key, site, part and pieces."""


@dataclass(frozen=True, slots=True, kw_only=True)
class JobNeeds:
    """Jobs of a site that needed the same are one pattern.

    jobs : (n_patterns, 2) the site and how often
    needs : (n_needs, 3) the pattern, a part of it, and its pieces
    """

    jobs: Ints
    needs: Ints


def read_job_needs(as_of: date) -> JobNeeds:
    """Two queries and what superseded what, however many jobs there were."""
    superseded = read_superseded(as_of)
    window = Q(day__gt=as_of - timedelta(days=DAYS_LOOKED_AT), day__lte=as_of, wish=False)
    asks = Ask.objects.filter(window, **COUNTED_PART).exclude(job_key="")
    asks = asks.exclude(site__kind=SiteKind.TRANSIT)
    return patterns(needed_by_job([*_asked(asks), *_taken_back(asks)], superseded))


def _asked(asks: QuerySet[Ask]) -> Iterator[Needed]:
    grouped = asks.order_by().values_list("job_key", "site_id", "part_id")
    yield from grouped.annotate(wanted=Sum("pieces")).iterator(AT_A_TIME)


def _taken_back(asks: QuerySet[Ask]) -> Iterator[Needed]:
    """What was declined or withdrawn was not needed."""
    gone = AskOutcome.objects.filter(how__in=How.no_demand(), ask__in=asks).order_by()
    grouped = gone.values_list("ask__job_key", "ask__site_id", "ask__part_id")
    for job, site, part, pieces in grouped.annotate(gone=Sum("pieces")).iterator(AT_A_TIME):
        yield job, site, part, -pieces


def needed_by_job(
    needed: Iterable[Needed], superseded: Superseded
) -> dict[tuple[str, int], Counter[int]]:
    jobs: dict[tuple[str, int], Counter[int]] = defaultdict(Counter)
    for job, site, part, pieces in needed:
        jobs[job, site][superseded.newest.get(part, part)] += pieces
    return jobs


def patterns(jobs: dict[tuple[str, int], Counter[int]]) -> JobNeeds:
    alike: Counter[tuple[int, tuple[tuple[int, int], ...]]] = Counter()
    for (_, site), parts in jobs.items():
        needs = tuple(sorted((part, pieces) for part, pieces in parts.items() if pieces > 0))
        if needs:
            alike[site, needs] += 1
    return JobNeeds(
        jobs=table(((site, times) for (site, _), times in alike.items()), 2),
        needs=table(
            ((row, *need) for row, (_, needs) in enumerate(alike) for need in needs),
            3,
        ),
    )


def read_recipes() -> Ints:
    """(whole, piece, pieces of it) of what can be put together and taken apart."""
    counted = MadeOf.objects.exclude(piece__counted=Counted.NOT).exclude(whole__counted=Counted.NOT)
    return table(counted.order_by("pk").values_list("whole_id", "piece_id", "quantity"), 3)
