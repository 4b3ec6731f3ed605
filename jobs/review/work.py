"""The work an action on a wheel brings with it: charged when it is done, and told beforehand."""

from dataclasses import dataclass

from jobs.review.inputs.wheels import WITH_A_SENSOR, WheelCase
from jobs.review.models import AdviceSettings
from jobs.workshop.models import IdOrigin, Job, WheelAction

OPENS_THE_TIRE = (
    WheelAction.RESEAL,
    WheelAction.STEM,
    WheelAction.PLAIN_VALVE,
    *WITH_A_SENSOR,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """Minutes of one kind of work; what is of the job is done once for all its wheels."""

    name: str
    words: str
    minutes: int
    action: str
    of_the_job: bool = False


def work_of(
    job: Job,
    case: WheelCase,
    *,
    action: str,
    prepare_minutes: int,
    settings: AdviceSettings,
    id_origin: str = IdOrigin.NEW,
) -> list[Work]:
    """Taking the tire off, unless it comes off anyway; preparing; one re-learn for the job."""
    work = []
    comes_off_anyway = case.inspection is not None and case.inspection.tire_off
    if action in OPENS_THE_TIRE and not comes_off_anyway:
        words = "Tire off and on for the sensor"
        work.append(
            Work(name="tire", words=words, minutes=settings.dismount_minutes, action=action)
        )
    if action in WITH_A_SENSOR and prepare_minutes:
        work.append(
            Work(name="prepare", words="Sensor programmed", minutes=prepare_minutes, action=action)
        )
    new_id = action in WITH_A_SENSOR and id_origin != IdOrigin.COPIED
    if action == WheelAction.RELEARN or new_id:
        application = job.vehicle.application
        minutes = application.relearn_minutes if application else None
        work.append(
            Work(
                name="relearn",
                words="Re-learn of the vehicle",
                minutes=minutes or settings.relearn_minutes,
                action=WheelAction.RELEARN,
                of_the_job=True,
            )
        )
    return work
