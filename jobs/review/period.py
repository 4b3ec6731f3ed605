"""A period's jobs grouped in one way, summed, and held against the period before.

Reads `inputs.margins` and the arithmetic of costing; writes nothing. All amounts in cents.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from inventory.shop.models import ShopSettings, Site
from jobs.costing.bridge import Bridge, Period, Work, bridge
from jobs.costing.margin import Margin
from jobs.costing.rates import Rate, rate
from jobs.costing.ratios import share
from jobs.review.inputs.margins import JobEarned, earned, written_off
from jobs.workshop.models import Job

DAYS_AT_FIRST = 30


def _model(one: JobEarned) -> str:
    application = one.job.vehicle.application
    return f"{application.make} {application.model}" if application else "Not identified"


def _month(one: JobEarned) -> str:
    closed = one.job.closed_on
    return f"{closed:%Y-%m}" if closed else "Open"


GROUPS: dict[str, tuple[str, Callable[[JobEarned], str]]] = {
    "work": ("Work done", lambda one: one.work),
    "model": ("Vehicle", _model),
    "account": ("Account", lambda one: str(one.job.account or "No account")),
    "technician": ("Technician", lambda one: str(one.job.technician or "Nobody named")),
    "site": ("Site", lambda one: str(one.job.site)),
    "month": ("Month", _month),
}


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


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Jobs of one kind: what they took, cost and left, comebacks charged to where they belong."""

    name: str
    jobs: int
    own: Margin
    comebacks_cents: int
    margin_cents: int
    came_back: Rate

    @property
    def share(self) -> float | None:
        return share(self.margin_cents, self.own.price_cents)

    @property
    def a_job_cents(self) -> int | None:
        return round(self.margin_cents / self.jobs) if self.jobs else None


@dataclass(frozen=True, slots=True, kw_only=True)
class PeriodEarned:
    span: Span
    jobs: tuple[JobEarned, ...]
    write_offs_cents: int

    @property
    def margin_cents(self) -> int:
        """What the jobs earned by themselves, comebacks among them, less what was written off."""
        return sum(one.own.margin_cents for one in self.jobs) - self.write_offs_cents

    @property
    def price_cents(self) -> int:
        return sum(one.own.price_cents for one in self.jobs)

    @property
    def share(self) -> float | None:
        return share(self.margin_cents, self.price_cents)

    def grouped(self, by: str) -> list[Group]:
        """Groups by what they left, the best first."""
        _, name_of = GROUPS[by]
        found: defaultdict[str, list[JobEarned]] = defaultdict(list)
        for one in self.jobs:
            found[name_of(one)].append(one)
        groups = [_group(name, jobs) for name, jobs in found.items()]
        if by == "month":
            return sorted(groups, key=lambda group: group.name)
        return sorted(groups, key=lambda group: -group.margin_cents)

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
        )

    @property
    def leaks(self) -> list[JobEarned]:
        """Jobs that left less than nothing after their comebacks, the worst first."""
        losing = [one for one in self.jobs if one.charged.margin_cents < 0]
        return sorted(losing, key=lambda one: one.charged.margin_cents)


def _group(name: str, jobs: Sequence[JobEarned]) -> Group:
    bearing = [one for one in jobs if not one.charged.charged_to]
    return Group(
        name=name,
        jobs=len(jobs),
        own=sum((one.own for one in jobs), Margin()),
        comebacks_cents=sum(one.charged.comebacks_cents for one in bearing),
        margin_cents=sum(one.charged.margin_cents for one in jobs),
        came_back=rate(sum(1 for one in bearing if one.charged.comebacks), len(bearing)),
    )


def _work(margins: Iterable[Margin]) -> Work:
    listed = list(margins)
    return Work(
        count=len(listed),
        price_cents=sum(margin.price_cents for margin in listed),
        cost_cents=sum(margin.cost_cents for margin in listed),
    )


def period_earned(span: Span, *, site: Site | None = None) -> PeriodEarned:
    """Everything closed on these days, at one site or all, in a constant number of queries."""
    jobs = Job.objects.closed_between(span.first, span.last)
    if site is not None:
        jobs = jobs.at(site)
    return PeriodEarned(
        span=span,
        jobs=tuple(earned(jobs, shop=ShopSettings.load())),
        write_offs_cents=written_off(first=span.first, last=span.last, site=site),
    )


def moved(before: PeriodEarned, after: PeriodEarned) -> Bridge:
    """What moved the margin from one period to the other, to the cent."""
    return bridge(before.as_costed(), after.as_costed())
