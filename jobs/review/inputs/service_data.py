"""What the yearly cost of service data comes to over some days, and the sensor jobs that carry it.

It is paid by the year whatever is done, so it comes off the margin of the days, never off a job.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import reduce
from operator import or_

from django.db.models import Count, Exists, OuterRef, Q

from inventory.shop.models import Site
from jobs.costing.cents import for_days, shared_out
from jobs.workshop.models import Job, JobKind, JobLine, WheelAction

NEEDS_DATA = (WheelAction.ASSEMBLY, WheelAction.BODY, WheelAction.RELEARN)
"""A sensor was fitted or taught to its vehicle."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ServiceData:
    """cents : for the days; jobs : sensor jobs closed on them, over which it is spread."""

    cents: int = 0
    jobs: int = 0

    @property
    def a_job_cents(self) -> int | None:
        """To the nearest cent; None where there was no sensor job."""
        return round(self.cents / self.jobs) if self.jobs else None


NO_SERVICE_DATA = ServiceData()


def service_data(
    yearly_cents: int, *spans: tuple[date, date], site: Site | None = None
) -> list[ServiceData]:
    """For the days of each span, both ends included; read once for all.

    One site carries as much as it has of the sensor jobs; where no site had one, the sites that
    sell carry it alike. Sites sum to the shop, to the cent.
    """
    if not yearly_cents:
        return [NO_SERVICE_DATA] * len(spans)
    costs = [for_days(yearly_cents, (last - first).days + 1) for first, last in spans]
    done = sensor_jobs(spans)
    if site is None:
        both = zip(costs, done, strict=True)
        return [ServiceData(cents=cents, jobs=sum(jobs.values())) for cents, jobs in both]
    return [_at(site, cents, jobs) for cents, jobs in zip(costs, done, strict=True)]


def _at(site: Site, cents: int, jobs: Mapping[int, int]) -> ServiceData:
    weights = jobs if any(jobs.values()) else _sites_that_sell()
    sites = sorted(weights)
    shares = dict(zip(sites, shared_out(cents, [weights[pk] for pk in sites]), strict=True))
    return ServiceData(cents=shares.get(site.pk, 0), jobs=jobs.get(site.pk, 0))


def _sites_that_sell() -> dict[int, int]:
    return dict.fromkeys(Site.objects.selling().values_list("pk", flat=True), 1)


def sensor_jobs(spans: Sequence[tuple[date, date]]) -> list[dict[int, int]]:
    """How many were closed on the days of each span, by site."""
    closed = [Q(closed_on__range=span) for span in spans]
    fitted = JobLine.objects.filter(job=OuterRef("pk"), action__in=NEEDS_DATA)
    jobs = Job.objects.filter(reduce(or_, closed))
    needing = jobs.filter(Q(kind=JobKind.RELEARN) | Exists(fitted)).order_by()
    counts = {f"span_{n}": Count("pk", filter=of) for n, of in enumerate(closed)}
    rows = list(needing.values("site").annotate(**counts).values_list("site", *counts))
    return [{site: found[n] for site, *found in rows} for n in range(len(spans))]
