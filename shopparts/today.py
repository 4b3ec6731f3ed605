"""What waits for a person today, each thing a number that leads to where it is done."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.db.models import Count, F, QuerySet, Sum
from django.template.defaultfilters import pluralize
from django.urls import reverse
from django.utils import timezone

from inventory.catalog.models import Application, Evidence
from inventory.ledger.age import past_shelf_life
from inventory.ledger.models import CountSheet, Hold, Lot, Movement, Shelf, Transfer
from inventory.reorder.models import Claim, Order, OrderLine, PlanRun, Supplier
from inventory.reorder.models.offers import WEEKDAYS
from inventory.shop.amounts import day_text
from inventory.shop.models import ShopSettings, Site
from inventory.shop.roles import Role
from jobs.review.inputs.margins import JobEarned
from jobs.review.period import PeriodEarned, Span, periods_earned
from jobs.workshop.models import Job
from shopparts.models import User

LATEST = 10
LEAKS_SHOWN = 3


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
    yield from _to_order(site)
    yield from _orders(site)
    yield from _promised(site)
    yield from _on_the_shelf(site)
    yield from _claims(site)
    yield from _in_the_catalogue()


def _to_order(site: Site) -> Iterable[Waiting]:
    """What the plan suggests, supplier by supplier, the first cut-off first."""
    plan = PlanRun.objects.finished().first()
    if plan is None:
        return
    lines = plan.lines.filter(site=site).to_order().order_by()
    counted = dict(lines.values_list("supplier").annotate(count=Count("pk")))
    now, address = timezone.now().astimezone(ZoneInfo(site.zone)), reverse("inventory:plan_detail")
    suppliers = Supplier.objects.in_bulk([pk for pk in counted if pk])
    leaving = sorted((each.leaves_at(now), each.pk, each) for each in suppliers.values())
    for leaves, pk, supplier in leaving:
        day = "" if leaves.date() == now.date() else f"{WEEKDAYS[leaves.weekday()]} "
        count = counted[pk]
        words = f"line{pluralize(count)} to order from {supplier} before {day}{leaves:%H:%M}"
        yield Waiting(count=count, words=words, address=address)
    nobody = counted.get(None, 0)
    yield Waiting(
        count=nobody, words=f"line{pluralize(nobody)} to order that nobody offers", address=address
    )


def _orders(site: Site) -> Iterable[Waiting]:
    today, orders = site.today(), reverse("inventory:order_list")
    here = Order.objects.filter(site=site)
    late = here.overdue(today).count()
    yield Waiting(count=late, words="late on order", address=f"{orders}?show=late")
    due = here.coming().filter(expected_on=today).count()
    yield Waiting(count=due, words=f"deliver{pluralize(due, 'y,ies')} due today", address=orders)
    yield Waiting(count=here.drafts().count(), words="drafted and not sent", address=orders)
    coming = Transfer.objects.on_the_road().filter(to_site=site).count()
    roads = reverse("inventory:transfer_list")
    yield Waiting(count=coming, words="on the way here from another site", address=roads)


def _promised(site: Site) -> Iterable[Waiting]:
    holds, address = (
        Hold.objects.standing().filter(shelf__site=site),
        reverse("inventory:hold_list"),
    )
    here = holds.exclude(arrived_at=None).count()
    yield Waiting(count=here, words="arrived and not collected", address=address)
    over = holds.expired(timezone.now()).count()
    yield Waiting(count=over, words=f"promise{pluralize(over)} past the day", address=address)


def _on_the_shelf(site: Site) -> Iterable[Waiting]:
    counts = CountSheet.objects.filter(site=site, closed_at=None).count()
    yield Waiting(
        count=counts,
        words=f"count{pluralize(counts)} not finished",
        address=reverse("inventory:count_list"),
    )
    apart = Shelf.objects.at(site).filter(on_hand__gt=F("usable")).count()
    shelves = reverse("inventory:shelf_list")
    yield Waiting(
        count=apart, words="with pieces to check or claim", address=f"{shelves}?show=apart"
    )
    old, ages = len(past_shelf_life(site)), reverse("inventory:shelf_age")
    yield Waiting(
        count=old, words=f"lot{pluralize(old)} past the shelf life", address=f"{ages}?show=past"
    )


def _claims(site: Site) -> Iterable[Waiting]:
    claims = Claim.objects.to_send()
    first = claims.exclude(claim_by=None).values_list("claim_by", flat=True).first()
    by = f", the first by {day_text(first, ShopSettings.load())}" if first else ""
    count, address = claims.count(), reverse("inventory:claim_list")
    yield Waiting(count=count, words=f"failed part{pluralize(count)} to claim{by}", address=address)


def _in_the_catalogue() -> Iterable[Waiting]:
    catalog, sketched = reverse("catalog_gaps"), Application.objects.drafts().count()
    yield Waiting(count=sketched, words="drafted entries to check", address=catalog)
    misfits = Evidence.objects.contradictions().count()
    yield Waiting(
        count=misfits, words="parts that did not fit, to decide", address=f"{catalog}?show=misfits"
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class JobToday:
    """A job in hand, and the lines on order that it waits for."""

    job: Job
    awaited: Sequence[OrderLine]


def own_jobs(user: User, site: Site) -> list[JobToday]:
    """Open jobs of this person here; of everybody, for those who run the shop."""
    jobs = Job.objects.at(site).in_hand().for_list().order_by("opened_at")
    if Role(user.role) == Role.TECHNICIAN:
        jobs = jobs.filter(technician=user)
    listed = list(jobs)
    awaited = _awaited(job.key for job in listed)
    return [JobToday(job=job, awaited=awaited.get(job.key, ())) for job in listed]


def _awaited(keys: Iterable[str]) -> dict[str, list[OrderLine]]:
    found: defaultdict[str, list[OrderLine]] = defaultdict(list)
    lines = OrderLine.objects.coming().filter(job_key__in=list(keys))
    for line in lines.select_related("order", "part").order_by("order__expected_on", "pk"):
        found[line.job_key].append(line)
    return found


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

    @property
    def change_cents(self) -> int:
        return self.week.margin_cents - self.year_ago.margin_cents

    @property
    def more_or_less(self) -> int:
        return abs(self.change_cents)

    @property
    def leaks(self) -> Sequence[JobEarned]:
        return self.week.leaks[:LEAKS_SHOWN]


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
