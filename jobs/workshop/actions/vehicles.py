"""Taking a vehicle into the records, with the wheels under it; changing what is known of it."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from inventory.catalog.models import Application, Construction, Mounting
from inventory.catalog.vin import as_vin, model_years
from inventory.shop.actions import record_changes
from jobs.workshop.actions.keepers import name_keeper
from jobs.workshop.keys import vehicle_key
from jobs.workshop.models import (
    CORNERS,
    Account,
    Fitted,
    Keeper,
    PieceKind,
    Place,
    Position,
    SinceKnown,
    Vehicle,
    Wheel,
    WheelKind,
    WheelSet,
)

_PIECES = {
    Mounting.SNAP_IN: (PieceKind.BODY, PieceKind.STEM),
    Mounting.CLAMP_IN: (PieceKind.BODY, PieceKind.STEM, PieceKind.SEAL),
    Mounting.STRAP: (PieceKind.BODY,),
    Mounting.INSIDE: (PieceKind.BODY,),
}
"""What sits in a wheel, by mounting. The rubber of a snap-in is stem and seal in one."""


@transaction.atomic
def register_vehicle(
    *,
    vin: str = "",
    plate: str = "",
    unit_number: str = "",
    application: Application | None = None,
    model_year: int | None = None,
    built_month: date | None = None,
    built_known: str = "",
    in_service_on: date | None = None,
    keeper: Keeper | None = None,
    account: Account | None = None,
    pressure_set_kpa: int | None = None,
) -> Vehicle:
    _check_can_be_found(vin, plate, unit_number)
    vehicle = Vehicle(
        key=vehicle_key(),
        vin=_checked_vin(vin),
        plate=plate.strip(),
        unit_number=unit_number.strip(),
        application=application,
        model_year=model_year,
        built_month=built_month,
        built_known=built_known,
        in_service_on=in_service_on,
        keeper=keeper,
        account=account,
        pressure_set_kpa=pressure_set_kpa,
    )
    if vehicle.model_year is None:
        vehicle.model_year = _year_told(vehicle.vin)
    vehicle.full_clean()
    vehicle.save()
    return vehicle


@transaction.atomic
def change_vehicle(
    vehicle: Vehicle,
    *,
    vin: str,
    plate: str,
    unit_number: str,
    account: Account | None,
    built_month: date | None,
    built_known: str,
    pressure_set_kpa: int | None,
    keeper_name: str,
    keeper_phone: str,
    somebody_else: bool,
    by: Any,
) -> Vehicle:
    """Correct what is known of a vehicle; which application it is, is `name_vehicle`'s."""
    vehicle = Vehicle.objects.select_for_update().get(pk=vehicle.pk)
    before = _facts(vehicle)
    vehicle.vin, vehicle.plate = _checked_vin(vin), plate.strip()
    vehicle.unit_number, vehicle.account = unit_number.strip(), account
    vehicle.built_month, vehicle.built_known = built_month, built_known
    vehicle.pressure_set_kpa = pressure_set_kpa
    _check_can_be_found(vehicle.vin, vehicle.plate, vehicle.unit_number)
    vehicle.full_clean()
    vehicle.save()
    after = {name: value for name, value in _facts(vehicle).items() if value != before[name]}
    if after:
        was = {name: before[name] for name in after}
        record_changes([(vehicle, f"vehicle {vehicle.key}", was, after)], by=by)
    name_keeper(vehicle, name=keeper_name, phone=keeper_phone, somebody_else=somebody_else)
    return vehicle


# Who brings it is not among them: a name has no place in the log of changes.
_FACTS = (
    "vin",
    "plate",
    "unit_number",
    "account_id",
    "built_month",
    "built_known",
    "pressure_set_kpa",
)


def _facts(vehicle: Vehicle) -> dict[str, Any]:
    return {name.removesuffix("_id"): getattr(vehicle, name) for name in _FACTS}


def _check_can_be_found(vin: str, plate: str, unit_number: str) -> None:
    if not (vin.strip() or plate.strip() or unit_number.strip()):
        raise ValidationError("Give the VIN, the plate or the unit number, so that it is found.")


def _checked_vin(text: str) -> str:
    if not text.strip():
        return ""
    try:
        return as_vin(text)
    except ValueError as fault:
        raise ValidationError({"vin": str(fault)}) from fault


def _year_told(vin: str) -> int | None:
    """The model year where the number leaves only one; what is ambiguous stays open."""
    if not vin:
        return None
    this_year = timezone.now().year
    years = model_years(vin, light_vehicle=True, this_year=this_year)
    return years[0] if len(years) == 1 else None


@transaction.atomic
def name_vehicle(
    vehicle: Vehicle, application: Application, *, on: date, instead: bool = False, by: Any
) -> Vehicle:
    """Say which application a vehicle is; `instead` corrects what was said before.

    Wheels as built that had no pieces, because nobody knew which, get those of the application.
    """
    vehicle = Vehicle.objects.select_for_update().get(pk=vehicle.pk)
    before = vehicle.application
    if before == application:
        return vehicle
    if before is not None and not instead:
        raise ValidationError(
            f"{vehicle} is written down as {before}; say that it is to be changed, or leave it."
        )
    move_vehicles([vehicle], application, by=by)
    _fit_pieces_as_built(vehicle, on=on)
    return vehicle


def move_vehicles(vehicles: Iterable[Vehicle], application: Application, *, by: Any) -> None:
    """Write these vehicles down as this application; each a line in the log of changes."""
    moved, changes = list(vehicles), []
    for vehicle in moved:
        before, after = {"application": vehicle.application_id}, {"application": application.pk}
        changes.append((vehicle, f"vehicle {vehicle.key} is {application}", before, after))
        vehicle.application = application
    Vehicle.objects.bulk_update(moved, ["application"])
    record_changes(changes, by=by)


def _fit_pieces_as_built(vehicle: Vehicle, *, on: date) -> None:
    known = _pieces_known(vehicle, WheelKind.BUILT, None, "")
    places = Place.objects.now().mounted().of(vehicle).select_related("wheel")
    bare = list(places.filter(wheel__kind=WheelKind.BUILT, wheel__fitted=None))
    if known and bare:
        wheels, positions = [p.wheel for p in bare], [Position(p.position) for p in bare]
        _fit_first_pieces(vehicle, wheels, positions, known, seen_on=on)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Known:
    """Since when the pieces of a new wheel are there, and how that is known."""

    since: date
    how: SinceKnown


@transaction.atomic
def set_up_wheels(
    vehicle: Vehicle,
    *,
    count: int = 4,
    on: date,
    set_name: str = "",
    stored_where: str = "",
    stored: bool = False,
    kind: str = WheelKind.BUILT,
    pieces_since: date | None = None,
    pieces_known: str = "",
    details: Mapping[str, Any] | None = None,
) -> list[Wheel]:
    """Four wheels, or five with a spare, mounted or stored, with the pieces they came with.

    The pieces of wheels as built are as old as the vehicle; of others, as old as told. Where
    nobody knows, the wheel starts without pieces, and without ages nobody can vouch for.
    """
    positions = _free_positions(vehicle, count, stored=stored)
    wheel_set = named_set(vehicle, set_name, stored_where)
    wheels = [
        Wheel(key=key, vehicle=vehicle, wheel_set=wheel_set, kind=kind, **(details or {}))
        for key in _free_wheel_keys(vehicle, count)
    ]
    for wheel in wheels:
        wheel.full_clean()
    Wheel.objects.bulk_create(wheels)
    Place.objects.bulk_create(
        Place(wheel=wheel, position=position, since=on)
        for wheel, position in zip(wheels, positions, strict=True)
    )
    if known := _pieces_known(vehicle, kind, pieces_since, pieces_known):
        _fit_first_pieces(vehicle, wheels, positions, known, seen_on=on)
    return wheels


def _free_positions(vehicle: Vehicle, count: int, *, stored: bool) -> list[Position]:
    if not 1 <= count <= 5:
        raise ValidationError(f"A set has 1 to 5 wheels; {count} was asked for.")
    if stored:
        return [Position.STORED] * count
    taken = set(Place.objects.now().mounted().of(vehicle).values_list("position", flat=True))
    free = [position for position in (*CORNERS, Position.SPARE) if position not in taken]
    if len(free) < count:
        raise ValidationError(
            f"{vehicle} has room for {len(free)} more wheels; store the mounted ones first."
        )
    return free[:count]


def named_set(vehicle: Vehicle, name: str, stored_where: str) -> WheelSet | None:
    if not name:
        return None
    wheel_set = WheelSet(vehicle=vehicle, name=name.strip(), stored_where=stored_where.strip())
    wheel_set.full_clean()
    wheel_set.save()
    return wheel_set


def _free_wheel_keys(vehicle: Vehicle, count: int) -> list[str]:
    taken = set(vehicle.wheels.values_list("key", flat=True))
    numbered = (f"{vehicle.key}-{number}" for number in range(1, len(taken) + count + 1))
    return [key for key in numbered if key not in taken][:count]


def _pieces_known(vehicle: Vehicle, kind: str, since: date | None, known: str) -> _Known | None:
    if since is not None:
        return _Known(since=since, how=SinceKnown(known or SinceKnown.TOLD))
    if kind != WheelKind.BUILT:
        return None
    if vehicle.in_service_on is not None:
        return _Known(since=vehicle.in_service_on, how=SinceKnown.FACTORY)
    if vehicle.model_year is not None:
        # Mid-year: a model year is sold from the autumn before it to the autumn in it.
        return _Known(since=date(vehicle.model_year, 1, 1), how=SinceKnown.GUESSED)
    return None


def _fit_first_pieces(
    vehicle: Vehicle,
    wheels: Sequence[Wheel],
    positions: Sequence[Position],
    known: _Known,
    *,
    seen_on: date,
) -> None:
    application = vehicle.application
    if application is None or not application.is_direct:
        return
    since = min(known.since, seen_on)
    carrying = [
        wheel
        for wheel, position in zip(wheels, positions, strict=True)
        if position != Position.SPARE or application.spare_has_sensor
    ]
    pieces = [
        Fitted(wheel=wheel, kind=kind, since=since, since_known=known.how, first_seen_on=seen_on)
        for wheel in carrying
        for kind in piece_kinds(application)
    ]
    Fitted.objects.bulk_create(pieces)
    if application.construction == Construction.ONE_PIECE:
        _join(pieces)


def piece_kinds(application: Application) -> tuple[PieceKind, ...]:
    if not application.mounting:
        return (PieceKind.BODY, PieceKind.STEM)
    return _PIECES[Mounting(application.mounting)]


def _join(pieces: Sequence[Fitted]) -> None:
    stems = {piece.wheel_id: piece for piece in pieces if piece.kind == PieceKind.STEM}
    bodies = [piece for piece in pieces if piece.kind == PieceKind.BODY]
    joined = [body for body in bodies if body.wheel_id in stems]
    for body in joined:
        body.joined_with = stems[body.wheel_id]
    Fitted.objects.bulk_update(joined, ["joined_with"])
