"""The end of a sensor job: the vehicle has learned its wheels, and all is as it should be."""

from collections.abc import Sequence
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from jobs.workshop.actions.findings import WheelHeard, record_readings
from jobs.workshop.models import Job, Reading


@transaction.atomic
def record_relearn(
    job: Job,
    learned: Sequence[WheelHeard],
    *,
    by: Any,
    lamp_after: str = "",
    pressures_set_cold: bool = False,
    road_checked: bool = False,
    after: int | None = None,
) -> list[Reading]:
    """What the walk showed: each wheel's sensor answers and the vehicle knows it; the checks after.

    What was said before stays where this walk says nothing of it.
    """
    if not (learned or lamp_after or pressures_set_cold or road_checked):
        raise ValidationError(
            "Tick at least one wheel that was learned, or one check that is done."
        )
    readings = record_readings(job, learned, by=by, after=after)
    job.lamp_after = lamp_after or job.lamp_after
    job.pressures_set_cold = pressures_set_cold or job.pressures_set_cold
    job.road_checked = road_checked or job.road_checked
    job.full_clean()
    job.save(update_fields=["lamp_after", "pressures_set_cold", "road_checked"])
    return readings
