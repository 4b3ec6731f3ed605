"""What waits for a person today, each thing a number that leads to where it is done."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, time
from zoneinfo import ZoneInfo

from django.db.models import F, QuerySet, Sum
from django.urls import reverse

from inventory.ledger.models import Lot, Movement, Shelf
from inventory.reorder.models import Order
from inventory.shop.models import Site
from inventory.shop.roles import Role
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
