"""What each account earns, which of its rules were not kept, and which of its vehicles are due."""

from collections import Counter, defaultdict
from collections.abc import Iterable
from datetime import date
from typing import NamedTuple

import numpy as np
from django.db.models import Count, Exists, F, Max, Min, OuterRef, Q, Subquery, Sum
from django.db.models.functions import Coalesce

from jobs.costing.margin import Margin
from jobs.costing.ratios import share
from jobs.review.inputs.in_use import pieces_in_use, vehicles_seen
from jobs.review.inputs.laws import ShopLaws
from jobs.review.period import PeriodEarned
from jobs.workshop.models import Account, Approval, Declined, Fitted, Job, PieceKind, Vehicle

NO_ORDER_NUMBER = "no order number of the account"
ABOVE_LIMIT = "above the limit, agreed by nobody"
YEARS_AHEAD = 1.0


class RuleBroken(NamedTuple):
    """A job that does not keep to what its account wants."""

    job_pk: int
    key: str
    account: int
    account_name: str
    closed_on: date | None
    total_cents: int
    what: str


def rules_broken(now: PeriodEarned) -> list[RuleBroken]:
    """Among jobs closed on these days, and those still open."""
    closed = Q(closed_on__range=(now.span.first, now.span.last))
    jobs = Job.objects.filter(closed | Q(closed_at=None)).exclude(account=None)
    priced = jobs.annotate(
        total=Coalesce(Sum("lines__price_cents"), 0),
        agreed=Exists(Approval.objects.filter(job=OuterRef("pk"))),
    )
    no_number = priced.filter(account__order_number_needed=True, order_number="")
    above = priced.filter(agreed=False, total__gt=F("account__limit_cents"))
    return [
        RuleBroken(*row, what)
        for what, broken in ((NO_ORDER_NUMBER, no_number), (ABOVE_LIMIT, above))
        for row in broken.order_by("-opened_at", "pk").values_list(
            "pk", "key", "account", "account__name", "closed_on", "total"
        )
    ]


class AccountEarned(NamedTuple):
    account: int
    name: str
    vehicles: int
    jobs: int
    own: Margin
    margin_cents: int
    discount: float
    open_jobs: int
    broken: int

    @property
    def share(self) -> float | None:
        return share(self.margin_cents, self.own.price_cents)


def accounts_earned(now: PeriodEarned, broken: Iterable[RuleBroken]) -> list[AccountEarned]:
    """Every account, those that left most first."""
    own: defaultdict[int, list[Margin]] = defaultdict(list)
    left: Counter[int] = Counter()
    for one in now.jobs:
        if one.job.account is not None:
            own[one.job.account].append(one.own)
            left[one.job.account] += one.charged.margin_cents
    wrong = Counter(one.account for one in broken)
    accounts = Account.objects.annotate(
        vehicle_count=Count("vehicles", distinct=True),
        open_count=Count("job", filter=Q(job__closed_at=None), distinct=True),
    )
    rows = [
        AccountEarned(
            account=account.pk,
            name=account.name,
            vehicles=account.vehicle_count,
            jobs=len(own[account.pk]),
            own=sum(own[account.pk], Margin()),
            margin_cents=left[account.pk],
            discount=account.discount_per_mille / 1000,
            open_jobs=account.open_count,
            broken=wrong[account.pk],
        )
        for account in accounts
    ]
    return sorted(rows, key=lambda row: (-row.margin_cents, row.name))


class VehicleDue(NamedTuple):
    """A vehicle of an account: how likely one of its sensors fails soon, and what was put off.

    chance : that a body or stem has failed unseen or fails within the year; None where none known
    oldest_since : the day of its oldest sensor body
    """

    vehicle: int
    name: str
    unit_number: str
    chance: float | None
    oldest_since: date | None
    declined: int
    last_visit: date | None


def vehicles_due(account: Account, on: date, laws: ShopLaws) -> list[VehicleDue]:
    """Those likeliest to need a sensor first."""
    bodies = Fitted.objects.now().filter(kind=PieceKind.BODY, wheel__vehicle=OuterRef("pk"))
    oldest = bodies.order_by().values("wheel__vehicle").annotate(day=Min("since")).values("day")
    declined = Declined.objects.filter(job__vehicle=OuterRef("pk")).order_by()
    put_off = declined.values("job__vehicle").annotate(count=Count("pk")).values("count")
    rows = Vehicle.objects.filter(account=account).annotate(
        oldest=Subquery(oldest),
        put_off=Coalesce(Subquery(put_off), 0),
        last_visit=Max("jobs__closed_on"),
    )
    named = rows.values_list("pk", "plate", "key", "unit_number", "oldest", "put_off", "last_visit")
    chance = chances_of_vehicles(account, on, laws)
    found = [
        VehicleDue._make([pk, plate or unit or key, unit, chance.get(pk), *rest])
        for pk, plate, key, unit, *rest in named
    ]
    return sorted(found, key=lambda row: (-(row.chance or 0), row.name))


def chances_of_vehicles(account: Account, on: date, laws: ShopLaws) -> dict[int, float]:
    """1 − Π (1 − chance of each piece), from the age at which it was last known to be good."""
    lasting: defaultdict[int, float] = defaultdict(lambda: 1.0)
    for piece in pieces_in_use(on, laws, vehicles_seen(on), of=account):
        law = laws.posterior(piece.family)
        known = min(piece.age_good, piece.age_now)
        horizon = piece.age_now - known + YEARS_AHEAD
        lasting[piece.vehicle] *= 1 - float(np.sum(law.chance_grid(known, horizon) * law.weight))
    return {vehicle: 1 - lasts for vehicle, lasts in lasting.items()}
