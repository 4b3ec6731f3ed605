"""What is done on a wheel after the advice: parts issued and fitted, work written down."""

from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from jobs.replacement.wheel import Findings, Heard, LeakAt, StemCondition
from jobs.review.advised import JobAdvised, WheelAdvised
from jobs.review.inputs.parts import Choice
from jobs.review.models import AdviceSettings
from jobs.review.work import OPENS_THE_TIRE, work_of
from jobs.workshop.actions.findings import give_advice, take_advice
from jobs.workshop.actions.fitting import fit_issued_part
from jobs.workshop.actions.lines import add_labour, issue_part_for_job
from jobs.workshop.ages import DAYS_A_YEAR
from jobs.workshop.models import (
    AdviceGiven,
    EndReason,
    IdOrigin,
    Job,
    JobLine,
    WheelAction,
)


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
) -> list[JobLine]:
    """Issue and fit what an action needs, with its work; the same key does it once."""
    if done := list(job.lines.filter(key__startswith=f"{key}:")):
        return done
    refuse_masked(one, action)
    kept = keep_advice(job, one)
    take_advice(kept, taken=action, reason=reason)
    wheel = one.case.now.wheel
    lines = []
    for number, choice in enumerate(needed(one, action)):
        line = issue_part_for_job(
            job,
            part=choice.part,
            quantity=choice.quantity,
            wheel=wheel,
            action=action,
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
    return lines + work_lines(job, one, action=action, key=key, id_origin=id_origin)


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
    job: Job, one: WheelAdvised, *, action: str, key: str, id_origin: str
) -> list[JobLine]:
    minutes = sum(choice.part.preparation_minutes for choice in needed(one, action))
    work = work_of(
        job,
        one.case,
        action=action,
        prepare_minutes=minutes,
        settings=AdviceSettings.load(),
        id_origin=id_origin,
    )
    return [
        add_labour(
            job,
            minutes=each.minutes,
            words=each.words,
            wheel=None if each.of_the_job else one.case.now.wheel,
            action=each.action,
            key=f"{job.key if each.of_the_job else key}:{each.name}",
        )
        for each in work
    ]
