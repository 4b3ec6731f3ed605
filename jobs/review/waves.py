"""Waves to come: vehicles of one kind whose sensors grow old together, and which they are."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from inventory.catalog.models import Application
from jobs.review.expected import WEEKS_AHEAD, failures, reach_of
from jobs.review.inputs.in_use import Piece, pieces_in_use, vehicles_seen
from jobs.review.inputs.laws import shop_laws
from jobs.workshop.models import Account, Vehicle

# A wave is worth a line from so many asks in the half-year to come.
LEAST_ASKS = 0.5
# It rises when the half-year after holds so many times as much.
RISES = 1.15
CARS_TOLD = KINDS_TOLD = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class WaveCar:
    """A vehicle in a wave: its age, and the asks to expect of it in the half-year to come."""

    vehicle: Vehicle
    pieces: int
    age_years: float
    last_seen: date
    asks: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Wave:
    """One kind of vehicle, of one account or of everybody else, and what of it fails."""

    application: Application
    account: Account | None
    sensor: bool
    cars: tuple[WaveCar, ...]
    asks: float
    asks_after: float

    @property
    def rises(self) -> bool:
        return self.asks_after > RISES * self.asks

    @property
    def more_cars(self) -> int:
        return max(0, len(self.cars) - CARS_TOLD)

    @property
    def first_cars(self) -> tuple[WaveCar, ...]:
        return self.cars[:CARS_TOLD]


@dataclass(frozen=True, slots=True, kw_only=True)
class Waves:
    found: tuple[Wave, ...]
    until: date
    vehicles: int
    asks: float

    @property
    def first_kinds(self) -> tuple[Wave, ...]:
        return self.found[:KINDS_TOLD]

    @property
    def more_kinds(self) -> int:
        return max(0, len(self.found) - KINDS_TOLD)


Car = tuple[int, bool]
"""A vehicle, and whether its sensors or its stems."""
Key = tuple[int, int | None, bool]
"""An application, an account, and whether sensors or stems."""


def waves(today: date) -> Waves:
    """Every wave of half an ask and more, the largest first."""
    laws, seen = shop_laws(), vehicles_seen(today)
    pieces = pieces_in_use(today, laws, seen)
    reach = reach_of(today, laws)
    cars = sorted({(piece.vehicle, piece.sensor) for piece in pieces})
    row = {car: number for number, car in enumerate(cars)}
    failing = failures(
        pieces,
        laws,
        [row[piece.vehicle, piece.sensor] for piece in pieces],
        len(cars),
        weeks=(0, WEEKS_AHEAD, 2 * WEEKS_AHEAD),
    ).mean(axis=2)
    of_car: defaultdict[Car, list[Piece]] = defaultdict(list)
    for piece in pieces:
        of_car[piece.vehicle, piece.sensor].append(piece)
    asks: dict[Car, tuple[float, float]] = {}
    for car, (now, after) in zip(cars, failing.tolist(), strict=True):
        comes = reach.of(of_car[car][0], today)
        asks[car] = now * comes, after * comes
    found = list(_waves(of_car, asks))
    return Waves(
        found=tuple(
            sorted(
                (one for one in found if one.asks >= LEAST_ASKS),
                key=lambda one: -one.asks,
            )
        ),
        until=today + timedelta(weeks=WEEKS_AHEAD),
        vehicles=len({vehicle for vehicle, _ in cars}),
        asks=sum(one.asks for one in found),
    )


def _waves(
    of_car: Mapping[Car, list[Piece]], asks: Mapping[Car, tuple[float, float]]
) -> list[Wave]:
    # All of them: nearly every vehicle has a sensor, and a list of keys would be asked in batches.
    vehicles = Vehicle.objects.select_related("account").in_bulk()
    named = Application.objects.filter(pk__in={pieces[0].application for pieces in of_car.values()})
    applications = {application.pk: application for application in named}
    grouped: defaultdict[Key, list[tuple[WaveCar, float]]] = defaultdict(list)
    for (car, sensor), pieces in of_car.items():
        now, after = asks[car, sensor]
        told = WaveCar(
            vehicle=vehicles[car],
            pieces=len(pieces),
            age_years=sum(piece.age_now for piece in pieces) / len(pieces),
            last_seen=pieces[0].seen.on,
            asks=now,
        )
        key = pieces[0].application, vehicles[car].account_id, sensor
        grouped[key].append((told, after))
    return [
        Wave(
            application=applications[application],
            account=told[0][0].vehicle.account,
            sensor=sensor,
            cars=tuple(sorted((car for car, _ in told), key=lambda car: -car.asks)),
            asks=sum(car.asks for car, _ in told),
            asks_after=sum(after for _, after in told),
        )
        for (application, _, sensor), told in grouped.items()
    ]
