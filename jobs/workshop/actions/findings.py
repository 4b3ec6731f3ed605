"""What tool, gauge, dash, eye and soap water said of the wheels of a job; the advice as shown."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from jobs.workshop.actions.answers import learn_from_answers
from jobs.workshop.actions.wheels import checked_id
from jobs.workshop.actions.work import check_wheels, lock_open
from jobs.workshop.models import (
    AdviceGiven,
    Battery,
    Fitted,
    Heard,
    IdOrigin,
    Inspection,
    Job,
    LeakAt,
    PieceKind,
    Reading,
    SinceKnown,
    Source,
    StemCondition,
    Wheel,
    WheelAction,
    WheelId,
)

_ANSWERS = {Heard.ANSWERED, Heard.WRONG_BAND}


@dataclass(frozen=True, slots=True, kw_only=True)
class WheelHeard:
    """One line of a reading of the whole vehicle."""

    wheel: Wheel
    heard: str = Heard.ANSWERED
    tries: int = 1
    pressure_kpa: int | None = None
    temperature_c: int | None = None
    band: str = ""
    battery: str = Battery.NOT_TOLD
    sensor_id: str = ""
    id_stored_in_vehicle: bool | None = None


@transaction.atomic
def record_readings(
    job: Job,
    heard: Sequence[WheelHeard],
    *,
    by: Any,
    source: str = Source.TOOL,
    at: datetime | None = None,
    after: int | None = None,
) -> list[Reading]:
    """Readings of several wheels at once; a body that answers was good that day.

    A wheel whose id nobody knew learns it. Another id than the known one changes nothing by
    itself: whose it is, is for the technician to say.

    after : the last reading that was known when these were taken; newer ones that say the same
        are these, sent twice
    """
    lock_open(job)
    instant = at or timezone.now()
    readings = [_reading(job, one, source, instant) for one in heard]
    check_wheels(job, [one.wheel for one in heard])
    if after is not None and (written := _written_since(job, after, readings)):
        return written
    for reading in readings:
        reading.full_clean(exclude=["job", "wheel"], validate_unique=False)
    Reading.objects.bulk_create(readings)
    if source == Source.TOOL:
        day = job.site.day_of(instant)
        strange = _with_another_id(readings)
        good = [r.wheel_id for r in readings if _is_good(r) and r.wheel_id not in strange]
        _seen_good(PieceKind.BODY, good, day)
        _learn_ids(readings, day)
        learn_from_answers(job, readings, by=by)
    return readings


def _reading(job: Job, one: WheelHeard, source: str, at: datetime) -> Reading:
    told = one.pressure_kpa is not None or one.sensor_id
    if told and source == Source.TOOL and one.heard not in _ANSWERS:
        raise ValidationError(
            f"Wheel {one.wheel} was {Heard(one.heard).label.lower()} and cannot have told a "
            "pressure or an id; correct what was heard."
        )
    return Reading(
        job=job,
        wheel=one.wheel,
        source=source,
        tries=one.tries,
        heard=one.heard,
        pressure_kpa=one.pressure_kpa,
        temperature_c=one.temperature_c,
        band=one.band,
        battery=one.battery,
        sensor_id=checked_id(one.sensor_id) if one.sensor_id else "",
        id_stored_in_vehicle=one.id_stored_in_vehicle,
        at=at,
    )


_SAID = (
    "wheel_id",
    "source",
    "tries",
    "heard",
    "pressure_kpa",
    "temperature_c",
    "band",
    "battery",
    "sensor_id",
    "id_stored_in_vehicle",
)


def _written_since(job: Job, after: int, readings: Sequence[Reading]) -> list[Reading]:
    """All of these readings, if newer rows than `after` say every one of them; else none."""
    newer = {_said(row): row for row in job.readings.filter(pk__gt=after)}
    found = [newer.get(_said(reading)) for reading in readings]
    return [row for row in found if row] if all(found) else []


def _said(reading: Reading) -> tuple[object, ...]:
    return tuple(getattr(reading, name) for name in _SAID)


def _is_good(reading: Reading) -> bool:
    return reading.heard in _ANSWERS and reading.battery != Battery.WEAK


def _with_another_id(readings: Sequence[Reading]) -> set[int]:
    """Wheels that answered with another id than the known one: not that body was heard, maybe."""
    told = {r.wheel_id: r.sensor_id for r in readings if r.sensor_id}
    known = WheelId.objects.filter(wheel__in=told, until=None)
    return {wheel for wheel, its in known.values_list("wheel", "sensor_id") if its != told[wheel]}


def _seen_good(kind: PieceKind, wheels: Sequence[int], day: date) -> None:
    pieces = Fitted.objects.now().filter(wheel__in=wheels, kind=kind, since__lte=day)
    pieces.exclude(last_good_on__gte=day).update(last_good_on=day)


def _learn_ids(readings: Sequence[Reading], day: date) -> None:
    told = {r.wheel_id: r.sensor_id for r in readings if r.sensor_id}
    for wheel in WheelId.objects.filter(wheel__in=told, until=None).values_list("wheel", flat=True):
        told.pop(wheel, None)
    origins = _origins(told)
    WheelId.objects.bulk_create(
        [
            WheelId(
                wheel_id=wheel, sensor_id=its, origin=origins.get(wheel, IdOrigin.NEW), since=day
            )
            for wheel, its in told.items()
        ],
        update_conflicts=True,
        unique_fields=["wheel", "since"],
        update_fields=["sensor_id", "origin", "until"],
    )


def _origins(wheels: Iterable[int]) -> Mapping[int, IdOrigin]:
    bodies = Fitted.objects.now().filter(wheel__in=wheels, kind=PieceKind.BODY)
    built = bodies.filter(since_known__in=[SinceKnown.FACTORY, SinceKnown.GUESSED])
    return dict.fromkeys(built.values_list("wheel", flat=True), IdOrigin.FACTORY)


@transaction.atomic
def record_inspection(
    job: Job,
    *,
    wheel: Wheel,
    tire_off: bool = False,
    leak_at: str = LeakAt.NONE,
    stem: str = StemCondition.NOT_SEEN,
    sealant_inside: bool = False,
    at: datetime | None = None,
) -> Inspection:
    lock_open(job)
    check_wheels(job, [wheel])
    found = Inspection.objects.filter(job=job, wheel=wheel).first() or Inspection(
        job=job, wheel=wheel
    )
    found.tire_off, found.leak_at, found.stem = tire_off, leak_at, stem
    found.sealant_inside, found.seen_at = sealant_inside, at or timezone.now()
    found.full_clean()
    found.save()
    day = job.site.today()
    if stem == StemCondition.SOUND and leak_at != LeakAt.STEM:
        _seen_good(PieceKind.STEM, [wheel.pk], day)
    if stem != StemCondition.NOT_SEEN and leak_at != LeakAt.SEAL:
        _seen_good(PieceKind.SEAL, [wheel.pk], day)
    return found


@transaction.atomic
def give_advice(
    job: Job,
    *,
    wheel: Wheel,
    action: str,
    strength: str,
    because: str,
    sure_per_mille: int | None = None,
    body_fails_per_mille: int | None = None,
    horizon_days: int | None = None,
    at: datetime | None = None,
) -> AdviceGiven:
    """Keep the advice as it is shown, before anyone knows the outcome; the same one only once."""
    lock_open(job)
    check_wheels(job, [wheel])
    advice = AdviceGiven(
        job=job,
        wheel=wheel,
        at=at or timezone.now(),
        action=action,
        strength=strength,
        because=because,
        sure_per_mille=sure_per_mille,
        body_fails_per_mille=body_fails_per_mille,
        horizon_days=horizon_days,
    )
    shown = AdviceGiven.objects.filter(job=job, wheel=wheel).order_by("-at", "-pk").first()
    if shown is not None and _as_shown(shown) == _as_shown(advice):
        return shown
    advice.full_clean()
    advice.save()
    return advice


def _as_shown(advice: AdviceGiven) -> tuple[object, ...]:
    return (
        advice.action,
        advice.strength,
        advice.because,
        advice.sure_per_mille,
        advice.body_fails_per_mille,
        advice.horizon_days,
    )


@transaction.atomic
def take_advice(advice: AdviceGiven, *, taken: str, reason: str = "") -> AdviceGiven:
    """What was done about it; another action than the advised one needs a reason."""
    lock_open(advice.job)
    if taken != advice.action and not reason.strip():
        raise ValidationError(
            f"The advice was “{advice.get_action_display().lower()}”; say in a few words why "
            f"“{WheelAction(taken).label.lower()}” is better here."
        )
    advice.taken, advice.taken_reason = taken, reason.strip()
    advice.full_clean()
    advice.save(update_fields=["taken", "taken_reason"])
    return advice
