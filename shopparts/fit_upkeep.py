"""Changes to the catalogue that vehicles follow: split, moved split, merge, drop.

The catalogue does not know vehicles; both are changed in one transaction here.
"""

from datetime import date
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from inventory.catalog.actions import applications
from inventory.catalog.models import Application
from jobs.workshop.actions.vehicles import move_vehicles
from jobs.workshop.models import Vehicle


@transaction.atomic
def split_entry(application: Application, *, month: date, key: str, by: Any) -> Application:
    later = applications.split_application(application, month=month, key=key, by=by)
    _follow(application, later, by)
    return later


@transaction.atomic
def move_entry_split(earlier: Application, later: Application, *, month: date, by: Any) -> None:
    applications.move_split(earlier, later, month=month, by=by)
    _follow(earlier, later, by)


def _follow(earlier: Application, later: Application, by: Any) -> None:
    """Vehicles whose month of building is known go to their side."""
    month = later.built_from
    over = Vehicle.objects.filter(application=earlier, built_month__gte=month)
    move_vehicles(over, later, by=by)
    back = Vehicle.objects.filter(application=later, built_month__lt=month)
    move_vehicles(back, earlier, by=by)


@transaction.atomic
def merge_entry(
    application: Application, *, into: Application, with_parts: bool = False, by: Any
) -> Application:
    vehicles = list(Vehicle.objects.filter(application=application))
    move_vehicles(vehicles, into, by=by)
    return applications.merge_application(application, into=into, with_parts=with_parts, by=by)


@transaction.atomic
def drop_entry(application: Application, *, by: Any) -> None:
    served = Vehicle.objects.filter(application=application).count()
    if served:
        vehicles = "1 vehicle is" if served == 1 else f"{served} vehicles are"
        raise ValidationError(
            f"{vehicles} written down as {application}; merge it into another instead."
        )
    applications.drop_application(application, by=by)
