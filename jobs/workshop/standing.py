"""A vehicle as it stands on a day: each wheel with its place, id, pieces and their ages.

Built from what `Vehicle.objects.for_page()` has read; asks the database nothing more.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from jobs.workshop.ages import Span, Stay, years_lived
from jobs.workshop.identity import WheelsHeard, wheels_heard
from jobs.workshop.models import (
    CORNERS,
    Fitted,
    PieceKind,
    Place,
    Position,
    SinceKnown,
    Vehicle,
    Wheel,
    WheelId,
    WheelSet,
)

_ORDER = {position: place for place, position in enumerate(Position)}


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceNow:
    """A piece that stands in a wheel now.

    age_years : time in a stored wheel counts less
    new_on : when it began its life, in whatever rim
    """

    piece: Fitted
    age_years: float
    new_on: date

    @property
    def age_known(self) -> bool:
        return self.piece.since_known != SinceKnown.GUESSED


@dataclass(frozen=True, slots=True, kw_only=True)
class WheelNow:
    """One wheel; no place when it has left the vehicle."""

    wheel: Wheel
    place: Place | None
    sensor_id: WheelId | None
    body: PieceNow | None
    stem: PieceNow | None
    seal: PieceNow | None

    @property
    def is_mounted(self) -> bool:
        return self.place is not None and self.place.position != Position.STORED

    @property
    def is_on_the_road(self) -> bool:
        return self.place is not None and self.place.position in CORNERS

    @property
    def where(self) -> str:
        return "" if self.place is None else self.place.get_position_display()


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    vehicle: Vehicle
    wheels: tuple[WheelNow, ...]

    @property
    def mounted(self) -> tuple[WheelNow, ...]:
        return tuple(one for one in self.wheels if one.is_mounted)

    @property
    def on_the_road(self) -> tuple[WheelNow, ...]:
        """Mounted, without the spare."""
        return tuple(one for one in self.mounted if one.is_on_the_road)

    @property
    def sets_in_store(self) -> tuple[WheelSet, ...]:
        """Sets that can be mounted: no wheel of them is on the vehicle."""
        up = {one.wheel.wheel_set for one in self.mounted}
        return tuple(its for its in self.stored if its is not None and its not in up)

    @property
    def stored(self) -> dict[WheelSet | None, tuple[WheelNow, ...]]:
        """Wheels in store by their set."""
        away = [one for one in self.wheels if one.place is not None and not one.is_mounted]
        sets = dict.fromkeys(one.wheel.wheel_set for one in away)
        return {its: tuple(one for one in away if one.wheel.wheel_set == its) for its in sets}

    def heard(self, ids: Iterable[str]) -> WheelsHeard:
        """What these ids say about the mounted wheels, by wheel key."""
        known = {
            one.wheel.key: one.sensor_id.sensor_id if one.sensor_id else "" for one in self.mounted
        }
        return wheels_heard(known, ids)


def standing(vehicle: Vehicle, *, on: date) -> Standing:
    """The wheels of a vehicle from `for_page()`, in the order one walks round it."""
    wheels = list(vehicle.wheels.all())
    pieces = {piece.pk: piece for wheel in wheels for piece in wheel.fitted.all()}
    now = [_wheel_now(wheel, pieces, on) for wheel in wheels]
    return Standing(vehicle=vehicle, wheels=tuple(sorted(now, key=_walk)))


def _walk(one: WheelNow) -> tuple[int, str]:
    place = len(_ORDER) if one.place is None else _ORDER[Position(one.place.position)]
    return place, one.wheel.key


def _wheel_now(wheel: Wheel, pieces: Mapping[int, Fitted], on: date) -> WheelNow:
    there = {piece.kind: piece for piece in wheel.fitted.all() if piece.ended_on is None}
    now = {
        kind: PieceNow(
            piece=piece,
            age_years=age_years(piece, pieces, on),
            new_on=_stays(piece, pieces)[0].since,
        )
        for kind, piece in there.items()
    }
    return WheelNow(
        wheel=wheel,
        place=next((place for place in wheel.places.all() if place.until is None), None),
        sensor_id=next((its for its in wheel.ids.all() if its.until is None), None),
        body=now.get(PieceKind.BODY),
        stem=now.get(PieceKind.STEM),
        seal=now.get(PieceKind.SEAL),
    )


def age_years(piece: Fitted, pieces: Mapping[int, Fitted], on: date) -> float:
    """The age through every rim it sat in; `pieces` saves asking for those of this vehicle."""
    return years_lived([_stay(one) for one in _stays(piece, pieces)], on)


def _stays(piece: Fitted, pieces: Mapping[int, Fitted]) -> Sequence[Fitted]:
    found = [piece]
    while (before := pieces.get(found[-1].continues_id or 0) or found[-1].continues) is not None:
        found.append(before)
    return found[::-1]


def _stay(piece: Fitted) -> Stay:
    stored = [
        Span(place.since, place.until)
        for place in piece.wheel.places.all()
        if place.position == Position.STORED
    ]
    return Stay(span=Span(piece.since, piece.ended_on), stored=stored)
