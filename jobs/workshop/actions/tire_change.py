"""A tire change in one action: the same on all wheels, then exceptions by wheel.

The quick road is the honest one: what takes more than two taps is not written down, and then the
stock is false within a week.
"""

from collections.abc import Sequence
from datetime import date, datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from inventory.catalog.models import Part, PartKind
from jobs.workshop.actions.findings import WheelHeard, record_readings
from jobs.workshop.actions.fitting import fit_issued_part
from jobs.workshop.actions.lines import issue_part_for_job
from jobs.workshop.actions.vehicles import set_up_wheels
from jobs.workshop.actions.work import lock_open
from jobs.workshop.models import Fitted, Job, JobKind, JobLine, Lamp, PieceKind, Source, Wheel

_ON_EVERY_WHEEL = {PartKind.KIT, PartKind.PLAIN_VALVE, PartKind.STEM, PartKind.SEAL}


@transaction.atomic
def change_tires_same_on_all(
    job: Job,
    *,
    part: Part,
    by: Any,
    key: str,
    lamp_after: str = Lamp.OFF,
    at: datetime | None = None,
) -> JobLine:
    """One kit or plain valve for each wheel on the road, every sensor answered, the lamp as it is.

    What was read of a wheel before on this job stays: a silent sensor has not answered. A vehicle
    seen for the first time gets its four wheels with it. The same key does all this once.
    """
    lock_open(job)
    if job.kind != JobKind.TIRE_CHANGE:
        raise ValidationError(
            f"Job {job} is no tire change; write down what was done wheel by wheel."
        )
    if part.kind not in _ON_EVERY_WHEEL:
        raise ValidationError(
            f"{part} is no kit, stem, seal or plain valve; issue it on the wheel it is for."
        )
    if first := JobLine.objects.filter(key=key).first():
        return first
    instant = at or timezone.now()
    wheels = _on_the_road(job, job.site.day_of(instant))
    line = issue_part_for_job(job, part=part, quantity=len(wheels), by=by, key=key, at=instant)
    for wheel in wheels:
        fit_issued_part(line, wheel=wheel, by=by, at=instant)
    if unread := _unread(job, _sensing(job, wheels, part)):
        record_readings(job, [WheelHeard(wheel=wheel) for wheel in unread], by=by, at=instant)
    job.lamp_after = lamp_after
    job.full_clean()
    job.save(update_fields=["lamp_after"])
    return line


def _on_the_road(job: Job, day: date) -> list[Wheel]:
    """Mounted wheels; the spare's tire stays as it is."""
    if not job.vehicle.wheels.exists():
        return set_up_wheels(job.vehicle, on=day)
    return list(job.vehicle.wheels.on_the_road().order_by("key"))


def _sensing(job: Job, wheels: Sequence[Wheel], part: Part) -> list[Wheel]:
    """Wheels with a sensor in them; all of them on a vehicle whose sensors nobody wrote down."""
    application = job.vehicle.application
    if application is not None and not application.is_direct:
        return []
    known = Fitted.objects.filter(wheel__in=wheels, kind=PieceKind.BODY)
    if not known.exists():
        return [] if part.kind == PartKind.PLAIN_VALVE else list(wheels)
    carrying = set(known.now().values_list("wheel", flat=True))
    return [wheel for wheel in wheels if wheel.pk in carrying]


def _unread(job: Job, wheels: Sequence[Wheel]) -> list[Wheel]:
    read = set(job.readings.filter(source=Source.TOOL).values_list("wheel", flat=True))
    return [wheel for wheel in wheels if wheel.pk not in read]
