"""The first hour of a shop: what it still needs before its first plan, read from its records.

No step is ever ticked by hand: one is done when the records say so, and open again when they do
not. Whoever knows the way puts the list away, on that device.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from django.http import HttpRequest
from django.urls import reverse

from inventory.catalog.models import Application, Fitment, Part
from inventory.ledger.models import Shelf
from inventory.reorder.models import Offer, PlanRun, Supplier
from inventory.shop.amounts import count_text, money_text
from inventory.shop.models import Bin, ShopSettings, Site
from inventory.shop.roles import Role, holds
from shopparts.models import User

AWAY = "first_hour"
"""The cookie of a device on which the list is put away."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """`state` is what the records say; a step that is not needed may stay open."""

    title: str
    state: str
    done: bool
    words: str
    address: str
    needed: bool = True
    other_words: str = ""
    other_address: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class FirstHour:
    steps: tuple[Step, ...]

    @property
    def next_step(self) -> Step | None:
        """The first that the plan cannot do without; None once it has all it needs."""
        return next((step for step in self.steps if step.needed and not step.done), None)

    @property
    def done_count(self) -> int:
        return sum(step.done for step in self.steps)


def first_hour() -> FirstHour:
    return FirstHour(steps=tuple(_steps()))


def first_hour_for(request: HttpRequest) -> FirstHour | None:
    """For an owner whose shop still needs something, unless the list is put away here."""
    if request.COOKIES.get(AWAY) or not holds(request.user, Role.OWNER):
        return None
    found = first_hour()
    return found if found.next_step else None


def _steps() -> Iterator[Step]:
    yield _settings()
    yield _sites()
    yield _people()
    yield _parts()
    yield _vehicles()
    yield _stock()
    yield _offers()
    yield _plan()


def _settings() -> Step:
    shop = ShopSettings.load()
    known = bool(shop.labour_price_cents and shop.labour_cost_cents)
    price, cost = (money_text(c, shop) for c in (shop.labour_price_cents, shop.labour_cost_cents))
    return Step(
        title="Say how the shop works",
        state=f"An hour of labour sells at {price} and costs {cost}."
        if known
        else "What an hour of labour sells at and costs is not known yet.",
        done=known,
        words="Fill in the settings",
        address=reverse("shop_settings"),
    )


def _sites() -> Step:
    sites, bins = list(Site.objects.selling()), Bin.objects.count()
    counted = count_text(len(sites), "site")
    only = reverse("site_detail", args=[sites[0].pk]) if len(sites) == 1 else reverse("site_list")
    return Step(
        title="Name sites and bins",
        state=f"{counted}, {count_text(bins, 'bin')}."
        if bins
        else f"{counted}, no bin yet; parts can lie without one.",
        done=bool(sites and bins),
        needed=not sites,
        words="Add bins" if sites else "Add a site",
        address=only if sites else reverse("site_new"),
        other_words="Add another site" if sites else "",
        other_address=reverse("site_new"),
    )


def _people() -> Step:
    count = User.objects.filter(is_active=True).count()
    return Step(
        title="Let people in",
        state=f"{count_text(count, 'person', 'people')} may sign in.",
        done=count > 1,
        needed=False,
        words="Invite a person",
        address=reverse("person_list"),
    )


def _parts() -> Step:
    count = Part.objects.count()
    return Step(
        title="List parts",
        state=f"{count_text(count, 'part')} listed." if count else "No part is listed yet.",
        done=bool(count),
        words="Bring in a workbook",
        address=reverse("data"),
        other_words="Add one by hand",
        other_address=reverse("inventory:part_new"),
    )


def _vehicles() -> Step:
    entries, fits = Application.objects.count(), Fitment.objects.exists()
    counted = count_text(entries, "vehicle entry", "vehicle entries")
    return Step(
        title="Say what fits which vehicle",
        state=f"{counted}." if fits else f"{counted}, none with a part yet.",
        done=fits,
        words="Add a vehicle",
        address=reverse("application_new"),
        other_words="Bring in a workbook",
        other_address=reverse("data"),
    )


def _stock() -> Step:
    count, part = Shelf.objects.filter(on_hand__gt=0).count(), Part.objects.counted().first()
    return Step(
        title="Put stock on the shelf",
        state=f"{count_text(count, 'part')} on the shelves."
        if count
        else "Nothing is on a shelf yet.",
        done=bool(count),
        words="Receive the first part",
        address=reverse("inventory:part_shelf", args=[part.pk])
        if part
        else reverse("inventory:shelf_list"),
        other_words="Bring in a workbook",
        other_address=reverse("data"),
    )


def _offers() -> Step:
    supplier, count = Supplier.objects.first(), Offer.objects.count()
    return Step(
        title="Name suppliers and what they ask",
        state=f"{count_text(count, 'offer')}."
        if count
        else "Nobody offers a part yet, so nothing can be ordered.",
        done=bool(count),
        words="Write an offer" if supplier else "Add a supplier",
        address=reverse("inventory:offer_new", args=[supplier.pk])
        if supplier
        else reverse("inventory:supplier_new"),
        other_words="Suppliers" if supplier else "",
        other_address=reverse("inventory:supplier_list"),
    )


def _plan() -> Step:
    # A night's plan of an empty shop says nothing yet.
    done = PlanRun.objects.finished().filter(lines__isnull=False).exists()
    return Step(
        title="Make the first plan",
        state="A plan is made every night from now on." if done else "No plan yet.",
        done=done,
        words="Plan now",
        address=reverse("inventory:plan_detail"),
    )
