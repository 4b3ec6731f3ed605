"""What waits for a person today, each thing a number that leads to where it is done."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.db.models import F, QuerySet, Sum
from django.urls import reverse

from inventory.catalog.models import Application, Evidence
from inventory.ledger.models import Hold, Lot, Movement, Shelf
from inventory.reorder.models import Claim, Order, PlanRun
from inventory.shop.models import Site
from inventory.shop.roles import Role
from jobs.review.period import PeriodEarned, Span, periods_earned
from jobs.workshop.models import Job
from shopparts.models import User

LATEST = 10


@dataclass(frozen=True, slots=True, kw_only=True)
class Waiting:
    count: int
    words: str
    address: str


def waiting_for(user: User, site: Site) -> list[Waiting]:
    """Only what there is some of, in the order of a day."""
    things = _for_parts_manager(site) if Role(user.role).holds(Role.PARTS_MANAGER) else ()
    return [thing for thing in things if thing.count]


def _for_parts_manager(site: Site) -> Iterable[Waiting]:
    plan = PlanRun.objects.filter(status="done").first()
    to_order = plan.lines.filter(site=site).to_order().count() if plan else 0
    yield Waiting(count=to_order, words="lines to order", address=reverse("inventory:plan_detail"))
    orders = reverse("inventory:order_list")
    late = Order.objects.filter(site=site).overdue(site.today()).count()
    yield Waiting(count=late, words="late on order", address=f"{orders}?show=late")
    drafts = Order.objects.filter(site=site).drafts().count()
    yield Waiting(count=drafts, words="drafted and not sent", address=orders)
    apart = Shelf.objects.at(site).filter(on_hand__gt=F("usable")).count()
    shelves = reverse("inventory:shelf_list")
    yield Waiting(
        count=apart, words="with pieces to check or claim", address=f"{shelves}?show=apart"
    )
    catalog, sketched = reverse("catalog_gaps"), Application.objects.drafts().count()
    yield Waiting(count=sketched, words="drafted entries to check", address=catalog)
    misfits = Evidence.objects.contradictions().count()
    yield Waiting(
        count=misfits, words="parts that did not fit, to decide", address=f"{catalog}?show=misfits"
    )


def own_jobs(user: User, site: Site) -> list[Job]:
    """Open jobs of this person here; of everybody, for those who run the shop."""
    jobs = Job.objects.at(site).in_hand().for_list().order_by("opened_at")
    if Role(user.role) == Role.TECHNICIAN:
        jobs = jobs.filter(technician=user)
    return list(jobs)


def parts_arrived(site: Site) -> list[Hold]:
    """Promised parts that are here, and whose job waits for somebody to come."""
    holds = Hold.objects.standing().exclude(arrived_at=None).filter(shelf__site=site)
    return list(holds.select_related("shelf__part").order_by("arrived_at"))


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnersWeek:
    """The last seven days against the same days a year ago, and claims not settled."""

    week: PeriodEarned
    year_ago: PeriodEarned
    claims_open: int


def owners_week(today: date) -> OwnersWeek:
    week = Span(first=today - timedelta(days=6), last=today)
    # Whole weeks, so that the weekdays are the same.
    back = timedelta(weeks=52)
    year_ago = Span(first=week.first - back, last=week.last - back)
    then, now = periods_earned(year_ago, week)
    return OwnersWeek(
        week=now,
        year_ago=then,
        claims_open=Claim.objects.filter(status__in=["open", "sent"]).count(),
    )


def posted_today(user: User, site: Site) -> QuerySet[Movement]:
    zone = ZoneInfo(site.zone)
    start = datetime.combine(site.today(), time.min, tzinfo=zone)
    movements = Movement.objects.filter(posting__by=user, posting__happened_at__gte=start)
    return (
        movements.filter(site=site)
        .select_related("posting__undone_by", "part")
        .order_by("-posting__happened_at", "-pk")[:LATEST]
    )


def stock_cents() -> int:
    """What everything on the shelves cost."""
    return Lot.objects.left().aggregate(total=Sum("cents_left"))["total"] or 0
