"""What every action on a job asks first: that it is open, and about its own vehicle's wheels."""

from collections.abc import Iterable

from django.core.exceptions import ValidationError

from jobs.workshop.models import Job, Wheel


def lock_open(job: Job) -> None:
    """Keep this job to ourselves until the transaction ends; refuse when it is closed."""
    own = Job.objects.select_for_update().filter(pk=job.pk)
    if own.values_list("closed_at", flat=True).get() is not None:
        raise ValidationError(f"Job {job} is closed; open a new one for more work.")


def check_wheels(job: Job, wheels: Iterable[Wheel]) -> None:
    for wheel in wheels:
        if wheel.vehicle_id != job.vehicle_id:
            raise ValidationError(
                f"Wheel {wheel} belongs to another vehicle; job {job} is about {job.vehicle}."
            )
