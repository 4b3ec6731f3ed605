"""Whose an unknown id is, once somebody says; a piece confirmed by the code printed on it."""

from datetime import date, datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import models, transaction
from django.utils import timezone

from jobs.workshop.actions.pieces import end_piece, fit_piece
from jobs.workshop.actions.wheels import check_no_double, checked_id, set_wheel_id
from jobs.workshop.actions.work import check_wheels, lock_open
from jobs.workshop.models import (
    EndReason,
    Fitted,
    IdOrigin,
    Job,
    PieceKind,
    SinceKnown,
    Wheel,
    WheelId,
)


class WhoseId(models.TextChoices):
    SAME_SENSOR = "same_sensor", "The same sensor: its id was written down wrong"
    OTHER_SHOP = "other_shop", "A new sensor: another shop's work"
    OURS = "ours", "A new sensor: prepared here and not written down"


@transaction.atomic
def explain_id(
    job: Job, *, wheel: Wheel, sensor_id: str, whose: str, at: datetime | None = None
) -> WheelId:
    """Settle whose an unknown id is. A new sensor is a new life; when it began may be a guess."""
    lock_open(job)
    check_wheels(job, [wheel])
    day = job.site.day_of(at or timezone.now())
    now = wheel.ids.filter(until=None).first()
    if WhoseId(whose) == WhoseId.SAME_SENSOR and now is not None:
        return _corrected(wheel, now, sensor_id)
    if WhoseId(whose) != WhoseId.SAME_SENSOR:
        _begin_new_body(job, wheel, ours=WhoseId(whose) == WhoseId.OURS, day=day)
    return set_wheel_id(wheel, sensor_id=sensor_id, origin=IdOrigin.NEW, on=day)


def _corrected(wheel: Wheel, kept: WheelId, sensor_id: str) -> WheelId:
    kept.sensor_id = checked_id(sensor_id)
    check_no_double(wheel, kept.sensor_id)
    kept.save(update_fields=["sensor_id"])
    return kept


def _begin_new_body(job: Job, wheel: Wheel, *, ours: bool, day: date) -> None:
    known = {"since": day, "since_known": SinceKnown.TOLD} if ours else _guess(wheel, day)
    old = wheel.fitted.now().filter(kind=PieceKind.BODY).first()
    if old is not None:
        end_piece(old, reason=EndReason.UNKNOWN, on=day, job=job)
    fit_piece(wheel, kind=PieceKind.BODY, on=day, **known)


def _guess(wheel: Wheel, day: date) -> dict[str, Any]:
    """Half-way between the last day the old body was there and today."""
    old = wheel.fitted.now().filter(kind=PieceKind.BODY).first()
    there = (old.last_good_on or old.first_seen_on) if old is not None else day
    return {"since": there + (day - there) / 2, "since_known": SinceKnown.GUESSED}


@transaction.atomic
def confirm_printed_code(piece: Fitted, *, code: str) -> Fitted:
    """The code read off a piece when the tire is off; it cannot contradict the one known."""
    read = code.strip()
    if piece.printed_code and piece.printed_code != read:
        raise ValidationError(
            f"This {piece.get_kind_display().lower()} is known by {piece.printed_code}, not "
            f"{read}; read it again, or end this one and fit the other."
        )
    piece.printed_code = read
    piece.full_clean()
    piece.save(update_fields=["printed_code"])
    return piece
