"""What is done on a wheel after the advice: parts issued and fitted, work written down."""

from collections.abc import Sequence
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from inventory.catalog.models import Preparation
from jobs.replacement.wheel import TRIES_TO_BE_DEAD, Findings, Heard, LeakAt, StemCondition
from jobs.review.advised import JobAdvised, WheelAdvised
from jobs.review.inputs.parts import Choice
from jobs.review.inputs.wheels import WITH_A_SENSOR
from jobs.review.models import AdviceSettings
from jobs.review.work import OPENS_THE_TIRE, Work, work_of
from jobs.workshop.actions.findings import (
    WheelHeard,
    give_advice,
    record_readings,
    take_advice,
)
from jobs.workshop.actions.fitting import fit_issued_part
from jobs.workshop.actions.jobs import record_approval
from jobs.workshop.actions.lines import add_labour, issue_part_for_job, note_done
from jobs.workshop.actions.pieces import end_piece
from jobs.workshop.ages import DAYS_A_YEAR
from jobs.workshop.models import (
    AdviceGiven,
    EndReason,
    Fitted,
    IdOrigin,
    Job,
    JobLine,
    Payer,
    PieceKind,
    WheelAction,
)
from jobs.workshop.models import Heard as HeardAs


@transaction.atomic
def write_down_advice(job: Job, found: JobAdvised) -> None:
    """Keep what the page will show, before anyone knows the outcome."""
    for one in found.wheels:
        if not one.waits:
            keep_advice(job, one)


def keep_advice(job: Job, one: WheelAdvised) -> AdviceGiven:
    return give_advice(
        job,
        wheel=one.case.now.wheel,
        action=one.do,
        strength=one.advice.strength,
        because=one.because[:300],
        sure_per_mille=round(one.advice.share * 1000),
        body_fails_per_mille=round(one.advice.body_fails * 1000),
        horizon_days=round(one.case.asked.years_to_tire_change * DAYS_A_YEAR),
    )


@transaction.atomic
def do_on_wheel(
    job: Job,
    one: WheelAdvised,
    *,
    action: str,
    by: Any,
    key: str,
    reason: str = "",
    sensor_id: str = "",
    id_origin: str = IdOrigin.NEW,
    prepare_minutes: int | None = None,
) -> list[JobLine]:
    """Issue and fit what an action needs, with its work; the same key does it once.

    What broke in our hands is replaced at our cost.
    """
    if done := list(job.lines.filter(key__startswith=f"{key}:")):
        return done
    refuse_masked(one, action)
    if action in WITH_A_SENSOR:
        check_read_first(one, needed(one, action), sensor_id=sensor_id, id_origin=id_origin)
    kept = keep_advice(job, one)
    take_advice(kept, taken=action, reason=reason)
    payer = Payer.US if one.case.broken_here else ""
    lines = []
    for number, choice in enumerate(needed(one, action)):
        line = issue_part_for_job(
            job,
            part=choice.part,
            quantity=choice.quantity,
            wheel=one.case.now.wheel,
            action=action,
            payer=payer,
            by=by,
            key=f"{key}:{number}",
        )
        fit_issued_part(
            line,
            reasons=reasons_of(one.case.asked.findings),
            sensor_id=sensor_id if choice.part.bands else "",
            id_origin=id_origin,
            by=by,
        )
        lines.append(line)
    if action == WheelAction.CORE:
        wheel, words = one.case.now.wheel, "Valve core replaced"
        lines.append(note_done(job, wheel=wheel, action=action, words=words, key=f"{key}:core"))
    if prepare_minutes is None:
        prepare_minutes = sum(choice.part.preparation_minutes for choice in needed(one, action))
    work = work_of(
        job,
        one.case,
        action=action,
        prepare_minutes=prepare_minutes,
        settings=AdviceSettings.load(),
        id_origin=id_origin,
    )
    return lines + work_lines(job, one, work, key=key, payer=payer)


def check_read_first(
    one: WheelAdvised, choices: Sequence[Choice], *, sensor_id: str, id_origin: str
) -> None:
    """A programmed sensor is read before it is mounted; a copy answers with the old id."""
    programmed = any(choice.part.preparation == Preparation.PROGRAM for choice in choices)
    if programmed and not sensor_id:
        raise ValidationError(
            "Read the programmed sensor before it is mounted and write its id; one that does not "
            "answer is not mounted."
        )
    old = one.case.now.sensor_id
    if id_origin == IdOrigin.COPIED and sensor_id and old and old.sensor_id != sensor_id:
        raise ValidationError(
            f"The new sensor answers with {sensor_id} and the old one had {old.sensor_id}, so it "
            "is no copy; program it again, or say that its id is new."
        )


@transaction.atomic
def break_sensor(job: Job, one: WheelAdvised, *, by: Any) -> Fitted:
    """The sensor of this wheel broke in our hands; the job cannot be closed in silence then."""
    wheel = one.case.now.wheel
    broken = job.taken_off.filter(
        wheel=wheel, kind=PieceKind.BODY, end_reason=EndReason.BROKEN_BY_US
    ).first()
    if broken is not None:
        return broken
    if one.case.now.body is None:
        raise ValidationError(
            f"No sensor is written down {one.case.now.where.lower()}; read it first."
        )
    [body, *_] = end_piece(
        one.case.now.body.piece, reason=EndReason.BROKEN_BY_US, on=job.site.today(), job=job
    )
    dead = WheelHeard(wheel=wheel, heard=HeardAs.SILENT, tries=TRIES_TO_BE_DEAD)
    record_readings(job, [dead], by=by)
    return body


@transaction.atomic
def fit_plain_valve(
    job: Job, one: WheelAdvised, *, who: str, how: str, reason: str, by: Any, key: str
) -> list[JobLine]:
    """A plain valve in place of a sensor that came in dead, once somebody has so decided."""
    if done := list(job.lines.filter(key__startswith=f"{key}:")):
        return done
    where = one.case.now.where.lower()
    if not one.may_get_plain_valve:
        raise ValidationError(
            f"A plain valve may only take the place of a sensor that came in dead; {where} none "
            "did, or no plain valve is listed for it."
        )
    words = f"Plain valve {where}: the sensor came in dead, the lamp stays on"
    record_approval(
        job, lines=words, who=who, how=how, decides_safety=True, wheel=one.case.now.wheel
    )
    action = WheelAction.PLAIN_VALVE
    lines = do_on_wheel(job, one, action=action, by=by, key=key, reason=reason)
    plain = WheelHeard(wheel=one.case.now.wheel, heard=HeardAs.PLAIN_VALVE)
    record_readings(job, [plain], by=by)
    return lines


def refuse_masked(one: WheelAdvised, action: str) -> None:
    masked = {option.action: option.why_not for option in one.options}
    if why_not := masked.get(WheelAction(action)):
        raise ValidationError(why_not)


def needed(one: WheelAdvised, action: str) -> tuple[Choice, ...]:
    choices = one.case.parts.for_action(action, snap_in=one.snap_in)
    if not choices and action in OPENS_THE_TIRE:
        raise ValidationError(
            f"No part for “{WheelAction(action).label.lower()}” fits this wheel; "
            "add one to the catalogue, or issue it by hand."
        )
    return choices


def reasons_of(found: Findings) -> dict[str, str]:
    """How each piece that comes off ended, from what was found; the rest was good."""
    reasons: dict[str, str] = {}
    if found.is_dead:
        reasons["body"] = EndReason.SILENT
    elif found.is_weak:
        reasons["body"] = EndReason.WEAK_BATTERY
    if found.heard is Heard.WRONG_BAND:
        # It never wore out: it was the wrong one.
        reasons["body"] = EndReason.REPLACED_GOOD
    stem = {
        StemCondition.PERISHED: EndReason.PERISHED,
        StemCondition.CORRODED: EndReason.CORRODED,
        StemCondition.DAMAGED: EndReason.DAMAGED,
    }.get(found.stem)
    if stem is None and found.leak_at is LeakAt.STEM:
        stem = EndReason.LEAKING
    if stem is not None:
        reasons["stem"] = stem
    if found.leak_at is LeakAt.SEAL:
        reasons["seal"] = EndReason.LEAKING
    return reasons


def work_lines(
    job: Job, one: WheelAdvised, work: Sequence[Work], *, key: str, payer: str
) -> list[JobLine]:
    return [
        add_labour(
            job,
            minutes=each.minutes,
            words=each.words,
            wheel=None if each.of_the_job else one.case.now.wheel,
            action=each.action,
            payer=payer,
            key=f"{job.key if each.of_the_job else key}:{each.name}",
        )
        for each in work
    ]
