"""Vehicles served here, by VIN, plate, unit number, or the id of one of their sensors."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Q
from django.urls import reverse

from inventory.catalog import prefix  # noqa: F401  registers the lookup
from inventory.catalog.codes import normalised
from jobs.workshop.identity import plain_id
from jobs.workshop.models import Vehicle, WheelId

SHORTEST_ID = 4
SHORTEST_PLATE = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Hit:
    name: str
    words: str
    address: str


def vehicles_served(text: str, *, limit: int) -> list[Hit]:
    return [_hit(vehicle, words) for vehicle, words in known_here(text, limit=limit)]


def known_here(text: str, *, limit: int) -> list[tuple[Vehicle, str]]:
    """Vehicles that the text may name, each with the words that tell it from others."""
    key = normalised(text)
    named = Q(unit_number__iexact=text.strip())
    if len(key) >= SHORTEST_PLATE:
        named |= Q(vin__prefix=key) | Q(plate_key__prefix=key)
    vehicles = Vehicle.objects.filter(named)
    found = [(v, _named(v)) for v in vehicles.select_related("application")[:limit]]
    ids = WheelId.objects.filter(sensor_id__in=list(_sensor_ids(text)), until=None)
    found += [
        (its.wheel.vehicle, f"sensor {its.sensor_id}")
        for its in ids.select_related("wheel__vehicle__application")[:limit]
    ]
    return found


def _hit(vehicle: Vehicle, words: str) -> Hit:
    address = reverse("jobs:vehicle_detail", args=[vehicle.pk])
    return Hit(name=str(vehicle), words=words, address=address)


def _named(vehicle: Vehicle) -> str:
    application = vehicle.application
    named = f"{application.make} {application.model}" if application else "not yet named"
    return f"{vehicle.model_year} {named}" if vehicle.model_year else named


def _sensor_ids(text: str) -> Iterable[str]:
    """The id as it is kept, and, where it may be decimal, what that is in hexadecimal."""
    try:
        sensor_id = plain_id(text)
    except ValueError:
        return
    if len(sensor_id) >= SHORTEST_ID:
        yield sensor_id
    if sensor_id.isdecimal():
        in_hex = f"{int(sensor_id):X}"
        if len(in_hex) >= SHORTEST_ID:
            yield in_hex
