"""Where wheels stand and which id they answer with, each from a day on."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from django.core.exceptions import ValidationError
from django.db import transaction

from jobs.workshop.actions.vehicles import named_set
from jobs.workshop.identity import plain_id
from jobs.workshop.models import CORNERS, Place, Position, Vehicle, Wheel, WheelId, WheelSet


def place_wheel(wheel: Wheel, *, position: str, on: date) -> Place:
    return rotate_wheels(wheel.vehicle, positions={wheel: position}, on=on)[0]


@transaction.atomic
def rotate_wheels(vehicle: Vehicle, *, positions: Mapping[Wheel, str], on: date) -> list[Place]:
    """Move several wheels at once, so that two can trade places; their histories go with them."""
    Vehicle.objects.select_for_update().get(pk=vehicle.pk)
    now = {place.wheel_id: place for place in Place.objects.now().of(vehicle)}
    for wheel in positions:
        _check_own_wheel(vehicle, wheel)
    _check_one_each(vehicle, now, positions)
    return [
        _moved(wheel, now.get(wheel.pk), Position(position), on)
        for wheel, position in positions.items()
    ]


def _check_own_wheel(vehicle: Vehicle, wheel: Wheel) -> None:
    if wheel.vehicle_id != vehicle.pk:
        raise ValidationError(f"Wheel {wheel} belongs to another vehicle; choose one of {vehicle}.")


def _check_one_each(
    vehicle: Vehicle, now: Mapping[int, Place], positions: Mapping[Wheel, str]
) -> None:
    stands = {wheel_pk: place.position for wheel_pk, place in now.items()}
    stands |= {wheel.pk: str(position) for wheel, position in positions.items()}
    taken: set[str] = set()
    for position in stands.values():
        if position in taken and position != Position.STORED:
            where = Position(position).label.lower()
            raise ValidationError(
                f"Two wheels of {vehicle} would stand {where}; move or store one of them."
            )
        taken.add(position)


def _moved(wheel: Wheel, before: Place | None, position: Position, on: date) -> Place:
    if before is not None and before.position == position:
        return before
    if before is not None and before.since > on:
        raise ValidationError(
            f"Wheel {wheel} came to its place on {before.since}; move it on that day or later."
        )
    if before is not None and before.since == on:
        before.position = position
        before.save(update_fields=["position"])
        return before
    if before is not None:
        before.until = on
        before.save(update_fields=["until"])
    return Place.objects.create(wheel=wheel, position=position, since=on)


@transaction.atomic
def swap_sets(
    vehicle: Vehicle, *, mount: WheelSet, on: date, stored_where: str = "", called: str = ""
) -> list[Place]:
    """Store the wheels that stand on the road and mount this set in their places.

    Where a wheel of the set stood before it was stored is where it goes now; the rest fill what
    is free. A spare that belongs to no set stays where it is. Wheels that come off and belong to
    no set become one by the name `called`. Said again that day, it says anew where they are.
    """
    Vehicle.objects.select_for_update().get(pk=vehicle.pk)
    coming = list(mount.wheels.order_by("key"))
    now = {place.wheel_id: place for place in Place.objects.now().of(vehicle)}
    there = [now[wheel.pk] for wheel in coming if wheel.pk in now]
    _check_can_mount(mount, coming, there, on)
    if any(place.position != Position.STORED for place in there):
        _store_at(stored_where, _came_off(vehicle, on))
        return there
    going = _leaving(vehicle, now)
    free = [position for _, position in going]
    moves: dict[Wheel, str] = {wheel: Position.STORED for wheel, _ in going}
    moves |= _places_for(coming, free)
    _name_loose(vehicle, moves, called)
    places = rotate_wheels(vehicle, positions=moves, on=on)
    _store_at(stored_where, [wheel for wheel, _ in going])
    WheelSet.objects.filter(pk=mount.pk).update(stored_where="")
    return places


def _check_can_mount(
    mount: WheelSet, coming: Sequence[Wheel], there: Sequence[Place], on: date
) -> None:
    if not coming:
        raise ValidationError(f"The set “{mount}” has no wheels; add them first.")
    if any(place.position != Position.STORED and place.since != on for place in there):
        raise ValidationError(f"The set “{mount}” is mounted already.")


def _came_off(vehicle: Vehicle, on: date) -> list[Wheel]:
    left = Place.objects.mounted().of(vehicle).filter(until=on)
    stored = Place.objects.now().filter(position=Position.STORED, wheel__in=left.values("wheel"))
    return list(vehicle.wheels.filter(pk__in=stored.values("wheel")))


def _name_loose(vehicle: Vehicle, going: Iterable[Wheel], called: str) -> None:
    """A set of the wheels that come off and belong to none: only a set can be mounted again."""
    loose = [w for w in going if w.wheel_set_id is None]
    if not loose or not called.strip():
        return
    wheel_set = named_set(vehicle, called, "")
    for wheel in loose:
        wheel.wheel_set = wheel_set
        wheel.save(update_fields=["wheel_set"])


def _store_at(stored_where: str, wheels: Iterable[Wheel]) -> None:
    sets = {wheel.wheel_set_id for wheel in wheels if wheel.wheel_set_id is not None}
    WheelSet.objects.filter(pk__in=sets).update(stored_where=stored_where)


def _leaving(vehicle: Vehicle, now: Mapping[int, Place]) -> list[tuple[Wheel, str]]:
    mounted = {pk: place for pk, place in now.items() if place.position != Position.STORED}
    return [
        (wheel, mounted[wheel.pk].position)
        for wheel in vehicle.wheels.filter(pk__in=mounted)
        if mounted[wheel.pk].position != Position.SPARE or wheel.wheel_set_id is not None
    ]


def _places_for(coming: Sequence[Wheel], free: Iterable[str]) -> dict[Wheel, str]:
    left = list(free) or list(CORNERS)
    past = Place.objects.mounted().filter(wheel__in=coming).order_by("since", "pk")
    last = {place.wheel_id: place.position for place in past}
    places: dict[Wheel, str] = {}
    for wheel in sorted(coming, key=lambda one: one.pk not in last):
        wanted = last.get(wheel.pk)
        if not left:
            raise ValidationError(f"The set has more wheels than {len(places)} places on the road.")
        places[wheel] = wanted if wanted in left else left[0]
        left.remove(places[wheel])
    return places


@transaction.atomic
def set_wheel_id(wheel: Wheel, *, sensor_id: str, origin: str, on: date) -> WheelId:
    """The id this wheel answers with from a day on; the one before ends that day."""
    kept = checked_id(sensor_id)
    Wheel.objects.select_for_update().get(pk=wheel.pk)
    check_no_double(wheel, kept)
    now = wheel.ids.filter(until=None).first()
    if now is not None and now.sensor_id == kept:
        return now
    if now is not None and now.since > on:
        raise ValidationError(
            f"Wheel {wheel} has its id since {now.since}; a new one begins on that day or later."
        )
    wheel.ids.filter(until=None).update(until=on)
    return WheelId.objects.update_or_create(
        wheel=wheel, since=on, defaults={"sensor_id": kept, "origin": origin, "until": None}
    )[0]


def checked_id(text: str) -> str:
    try:
        return plain_id(text)
    except ValueError as fault:
        raise ValidationError(str(fault)) from fault


def check_no_double(wheel: Wheel, sensor_id: str) -> None:
    """Only wheels mounted together must differ: a stored set may carry copies."""
    mounted = Place.objects.now().mounted()
    if not mounted.filter(wheel=wheel).exists():
        return
    clash = (
        mounted.of(wheel.vehicle)
        .exclude(wheel=wheel)
        .filter(wheel__ids__sensor_id=sensor_id, wheel__ids__until=None)
        .first()
    )
    if clash is not None:
        raise ValidationError(
            f"{clash.get_position_display()} already answers with {sensor_id}; two mounted wheels "
            "cannot share an id. Read both again."
        )
