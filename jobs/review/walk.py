"""The walk round a vehicle that learns its sensors: which wheel after which, and what is new."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from jobs.review.inputs.wheels import carries_sensor
from jobs.workshop.actions.findings import WheelHeard
from jobs.workshop.models import (
    Battery,
    Heard,
    IdOrigin,
    Job,
    Position,
    Reading,
    Source,
    Vehicle,
)
from jobs.workshop.standing import WheelNow, standing

ORDER = (
    Position.FRONT_LEFT,
    Position.FRONT_RIGHT,
    Position.REAR_RIGHT,
    Position.REAR_LEFT,
    Position.SPARE,
)
"""Round the vehicle (common practice, no source); the steps of the vehicle itself go first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One wheel of the walk; `is_new` where its id began on the day of the job and is no copy."""

    now: WheelNow
    last: Reading | None
    is_new: bool

    @property
    def is_learned(self) -> bool:
        return self.last is not None and self.last.id_stored_in_vehicle is True


def walk_of(job: Job) -> list[Step]:
    """Every mounted wheel with a sensor, in the order in which one walks."""
    vehicle = Vehicle.objects.for_page().get(pk=job.vehicle_id)
    application = vehicle.application
    if application is None or not application.is_direct:
        return []
    day = job.site.day_of(job.opened_at)
    stands = standing(vehicle, on=job.site.today())
    mounted = [now for now in stands.mounted if carries_sensor(now, application)]
    rows = job.readings.filter(source=Source.TOOL).order_by("at", "pk")
    last = {row.wheel_id: row for row in rows}
    return [
        Step(now=now, last=last.get(now.wheel.pk), is_new=_is_new(now, day))
        for now in sorted(mounted, key=_place)
    ]


def _place(now: WheelNow) -> int:
    assert now.place is not None
    return ORDER.index(Position(now.place.position))


def _is_new(now: WheelNow, day: date) -> bool:
    its = now.sensor_id
    return its is not None and its.since >= day and its.origin == IdOrigin.NEW


def learned_wheels(walk: Sequence[Step], learned: Mapping[int, int | None]) -> list[WheelHeard]:
    """Readings of the wheels that were learned; what a battery said before still holds."""
    return [
        WheelHeard(
            wheel=step.now.wheel,
            heard=Heard.ANSWERED,
            pressure_kpa=learned[step.now.wheel.pk],
            battery=step.last.battery if step.last else Battery.NOT_TOLD,
            sensor_id=step.now.sensor_id.sensor_id if step.now.sensor_id else "",
            id_stored_in_vehicle=True,
        )
        for step in walk
        if step.now.wheel.pk in learned
    ]
