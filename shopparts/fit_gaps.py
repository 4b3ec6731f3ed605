"""What is missing or doubtful in the catalogue, each with what to do next.

Only vehicles that were served count for a part that is missing: a catalogue may be larger than
the shop's street.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Count
from django.urls import reverse

from inventory.catalog.inputs import possible_fits
from inventory.catalog.models import Application, Evidence, Part
from inventory.catalog.roles import roles_missing
from inventory.shop.models import Change
from jobs.workshop.models import Vehicle


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """One thing to settle: what it is, what is wrong with it, and where that is put right."""

    name: str
    address: str
    words: str
    next_words: str
    next_address: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Gaps:
    key: str
    title: str
    rows: tuple[Gap, ...]


def gaps() -> list[Gaps]:
    vehicles = Vehicle.objects.exclude(application=None).order_by().values_list("application")
    served = dict(vehicles.annotate(count=Count("pk")))
    return [
        Gaps(key="drafts", title="Drafts to check", rows=tuple(_drafts(served))),
        Gaps(key="misfits", title="Did not fit", rows=tuple(_misfits())),
        Gaps(key="roles", title="Served, and a part is missing", rows=tuple(_roles(served))),
        Gaps(key="vehicles", title="Vehicles without an entry", rows=tuple(_vehicles())),
        Gaps(key="parts", title="Parts that fit nothing", rows=tuple(_parts())),
    ]


def _served(count: int) -> str:
    return f"{count or 'no'} vehicle{'' if count == 1 else 's'} served"


def _drafts(served: dict[int, int]) -> Iterable[Gap]:
    drafts = list(Application.objects.drafts())
    made = _made_by(drafts)
    for draft in drafts:
        address = reverse("application_edit", args=[draft.pk])
        by = f"by {made[draft.pk]}" if draft.pk in made else ""
        yield Gap(
            name=str(draft),
            address=address,
            words=", ".join(filter(None, [draft.source, by, _served(served.get(draft.pk, 0))])),
            next_words="Check it, merge it or drop it",
            next_address=address,
        )


def _made_by(drafts: Iterable[Application]) -> dict[int, str]:
    keys = [str(draft.pk) for draft in drafts]
    made = Change.objects.filter(
        kind=Application._meta.label, record__in=keys, before={}, by__isnull=False
    )
    return {int(change.record): str(change.by) for change in made.select_related("by")}


def _misfits() -> Iterable[Gap]:
    for one in Evidence.objects.contradictions().for_page():
        yield Gap(
            name=f"{one.part} on {one.application}",
            address=reverse("inventory:part_detail", args=[one.part_id]),
            words=f"{one.reason.rstrip('.')}; job {one.job_key}",
            next_words="Take it off, keep it, or move the split",
            next_address=f"{reverse('application_edit', args=[one.application_id])}#learned",
        )


def _roles(served: dict[int, int]) -> Iterable[Gap]:
    for possible in possible_fits(list(Application.objects.filter(pk__in=served))):
        if missing := roles_missing(possible):
            application = possible.application
            address = reverse("application_edit", args=[application.pk])
            yield Gap(
                name=str(application),
                address=reverse("fit_answer", args=[application.pk]),
                words=f"no {' and no '.join(missing)} to offer; {_served(served[application.pk])}",
                next_words="List a part",
                next_address=f"{address}#parts",
            )


def _vehicles() -> Iterable[Gap]:
    for vehicle in Vehicle.objects.filter(application=None):
        year = f"&year={vehicle.model_year}" if vehicle.model_year else ""
        yield Gap(
            name=str(vehicle),
            address=reverse("jobs:vehicle_detail", args=[vehicle.pk]),
            words=f"VIN {vehicle.vin}" if vehicle.vin else "VIN not known",
            next_words="Find what fits it",
            next_address=f"{reverse('fit')}?vehicle={vehicle.pk}{year}",
        )


def _parts() -> Iterable[Gap]:
    for part in Part.objects.fitting_nothing():
        yield Gap(
            name=part.number,
            address=reverse("inventory:part_detail", args=[part.pk]),
            words=part.words or part.get_kind_display().lower(),
            next_words="List it on a vehicle",
            next_address=reverse("inventory:part_fits", args=[part.pk]),
        )
