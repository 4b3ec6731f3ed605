"""What a job teaches the catalogue: the part that answers after it was fitted, or is never heard.

A customer's own wheels teach nothing: whatever does not fit there may fit the vehicle's own.
"""

from collections.abc import Sequence
from typing import Any

from inventory.catalog.evidence import confirm_fit, contradict_fit, learn_vin_pattern
from inventory.catalog.models import Evidence, EvidenceKind, Part
from jobs.workshop.models import Fitted, Heard, Job, PieceKind, Reading, WheelKind

WRONG_BAND = "Answered in a band this vehicle does not hear."


def learn_from_answers(job: Job, readings: Sequence[Reading], *, by: Any) -> None:
    """Evidence from readings taken after a sensor of this job was fitted."""
    if job.vehicle.application is None:
        return
    heard = {reading.wheel_id: reading.heard for reading in readings}
    new = list(
        Fitted.objects.now()
        .filter(wheel__in=heard, kind=PieceKind.BODY, by_job=job, part__isnull=False)
        .exclude(wheel__kind=WheelKind.OWN)
        .select_related("part")
    )
    answering = [p.part for p in new if p.part and heard[p.wheel_id] == Heard.ANSWERED]
    if answering:
        _confirm(job, answering, by)
    for piece in new:
        if piece.part and heard[piece.wheel_id] == Heard.WRONG_BAND:
            _contradict(job, piece.part, WRONG_BAND, by)


def _confirm(job: Job, parts: Sequence[Part], by: Any) -> None:
    vehicle, application = job.vehicle, job.vehicle.application
    if application is None:
        return
    if vehicle.vin and vehicle.model_year and not _was_confirmed(job):
        learn_vin_pattern(application, vin=vehicle.vin, year=vehicle.model_year)
    confirm_fit(application, parts, job_key=job.key, built_month=vehicle.built_month, by=by)


def _was_confirmed(job: Job) -> bool:
    """Whether a part answered on this vehicle before: its VIN has been learned from then."""
    return Evidence.objects.filter(
        kind=EvidenceKind.CONFIRMED,
        application=job.vehicle.application,
        job_key__in=Job.objects.filter(vehicle=job.vehicle).values("key"),
    ).exists()


def _contradict(job: Job, part: Part, reason: str, by: Any) -> Evidence | None:
    vehicle, application = job.vehicle, job.vehicle.application
    if application is None:
        return None
    return contradict_fit(
        application,
        part,
        reason=reason,
        job_key=job.key,
        built_month=vehicle.built_month,
        by=by,
    )
