"""What the jobs closed on some days earned, and what moved that between two such periods.

Reads `inputs.margins` and the arithmetic of costing; writes nothing. All amounts in cents.
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from functools import reduce
from operator import or_

from inventory.shop.models import ShopSettings, Site
from jobs.costing.bridge import Bridge, Period, Work, bridge
from jobs.costing.margin import Margin
from jobs.costing.ratios import share
from jobs.review.inputs.margins import JobEarned, earned
from jobs.review.inputs.service_data import NO_SERVICE_DATA, ServiceData, service_data
from jobs.review.inputs.write_offs import WriteOff, written_off
from jobs.workshop.models import Job, JobQuerySet

DAYS_AT_FIRST = 30


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """Days of the site, both included, and as many before them."""

    first: date
    last: date

    @property
    def days(self) -> int:
        return (self.last - self.first).days + 1

    @property
    def before(self) -> "Span":
        length = timedelta(days=self.days)
        return Span(first=self.first - length, last=self.last - length)

    def holds(self, day: date | None) -> bool:
        return day is not None and self.first <= day <= self.last


@dataclass(frozen=True, slots=True, kw_only=True)
class PeriodEarned:
    span: Span
    jobs: tuple[JobEarned, ...]
    write_offs: tuple[WriteOff, ...]
    service_data: ServiceData = NO_SERVICE_DATA

    @property
    def write_offs_cents(self) -> int:
        return sum(one.cents for one in self.write_offs)

    @property
    def margin_cents(self) -> int:
        """What the jobs earned, comebacks among them, less write-offs and service data."""
        return self.jobs_cents - self.write_offs_cents - self.service_data.cents

    @property
    def jobs_cents(self) -> int:
        """What the jobs earned by themselves, comebacks among them."""
        return sum(one.own.margin_cents for one in self.jobs)

    @property
    def price_cents(self) -> int:
        return sum(one.own.price_cents for one in self.jobs)

    @property
    def share(self) -> float | None:
        return share(self.margin_cents, self.price_cents)

    def as_costed(self) -> Period:
        works: dict[str, list[Margin]] = defaultdict(list)
        comebacks = 0
        for one in self.jobs:
            if one.charged.charged_to:
                comebacks -= one.own.margin_cents
            else:
                works[one.work].append(one.own)
        return Period(
            works={name: _work(margins) for name, margins in works.items()},
            comebacks_cents=comebacks,
            write_offs_cents=self.write_offs_cents,
            service_data_cents=self.service_data.cents,
        )

    @property
    def leaks(self) -> list[JobEarned]:
        """Jobs that left less than nothing after their comebacks, the worst first."""
        losing = [one for one in self.jobs if one.charged.margin_cents < 0]
        return sorted(losing, key=lambda one: one.charged.margin_cents)


def _work(margins: Iterable[Margin]) -> Work:
    listed = list(margins)
    return Work(
        count=len(listed),
        price_cents=sum(margin.price_cents for margin in listed),
        cost_cents=sum(margin.cost_cents for margin in listed),
    )


def periods_earned(
    *spans: Span, site: Site | None = None, shop: ShopSettings | None = None
) -> list[PeriodEarned]:
    """Everything closed on the days of each span, at one site or all, read once for all spans."""
    shop = shop or ShopSettings.load()
    jobs = reduce(or_, (_closed(span, site) for span in spans))
    found = earned(jobs, shop=shop)
    lost = written_off(
        first=min(span.first for span in spans), last=max(span.last for span in spans), site=site
    )
    days = [(span.first, span.last) for span in spans]
    carried = service_data(shop.service_data_yearly_cents, *days, site=site)
    return [
        PeriodEarned(
            span=span,
            jobs=tuple(one for one in found if span.holds(one.job.closed_on)),
            write_offs=tuple(one for one in lost if span.holds(one.day)),
            service_data=data,
        )
        for span, data in zip(spans, carried, strict=True)
    ]


def _closed(span: Span, site: Site | None) -> JobQuerySet:
    jobs = Job.objects.closed_between(span.first, span.last)
    return jobs if site is None else jobs.at(site)


def moved(before: PeriodEarned, after: PeriodEarned) -> Bridge:
    """What moved the margin from one period to the other, to the cent."""
    return bridge(before.as_costed(), after.as_costed())
