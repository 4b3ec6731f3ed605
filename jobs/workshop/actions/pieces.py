"""The lives of bodies, stems and seals: fitted, moved to another rim, ended with a reason."""

from collections.abc import Mapping, Sequence
from datetime import date

from django.core.exceptions import ValidationError
from django.db import transaction

from inventory.catalog.models import Construction, Mounting, Part, PartKind
from inventory.ledger.models import Lot
from jobs.workshop.actions.wheels import set_wheel_id
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

_RENEWED = {
    PartKind.ASSEMBLY: (PieceKind.BODY, PieceKind.STEM, PieceKind.SEAL),
    PartKind.BODY: (PieceKind.BODY,),
    PartKind.STEM: (PieceKind.STEM,),
    PartKind.SEAL: (PieceKind.SEAL,),
    PartKind.PLAIN_VALVE: (PieceKind.STEM,),
}


def pieces_of(part: Part) -> tuple[PieceKind, ...]:
    """Which lives begin anew when this part is fitted.

    The rubber of a snap-in is stem and seal in one, so its service kit is a new stem.
    """
    snap_in = part.mounting == Mounting.SNAP_IN
    if part.kind == PartKind.KIT:
        return (PieceKind.STEM,) if snap_in else (PieceKind.SEAL,)
    renewed = _RENEWED.get(PartKind(part.kind), ())
    return tuple(kind for kind in renewed if kind != PieceKind.SEAL or not snap_in)


@transaction.atomic
def fit_piece(
    wheel: Wheel,
    *,
    kind: str,
    on: date,
    part: Part | None = None,
    lot: Lot | None = None,
    printed_code: str = "",
    since: date | None = None,
    since_known: str = SinceKnown.FITTED,
    job: Job | None = None,
) -> Fitted:
    """Begin a life on this wheel. A new body is a new life, whatever its id."""
    piece = Fitted(
        wheel=wheel,
        kind=kind,
        part=part,
        lot=lot,
        printed_code=printed_code.strip(),
        since=since or on,
        since_known=since_known,
        first_seen_on=on,
        by_job=job,
    )
    _check_nothing_there(wheel, PieceKind(kind))
    piece.full_clean()
    piece.save()
    return piece


def _check_nothing_there(wheel: Wheel, kind: PieceKind) -> None:
    there = wheel.fitted.now().filter(kind=kind).first()
    if there is not None:
        raise ValidationError(
            f"Wheel {wheel} already has a {kind.label.lower()} since {there.since}; "
            "end that one first and say why."
        )


@transaction.atomic
def end_piece(piece: Fitted, *, reason: str, on: date, job: Job | None = None) -> list[Fitted]:
    """End a life. What is joined with it comes off too, and has only been watched so long."""
    if piece.ended_on is not None:
        raise ValidationError(
            f"This {piece.get_kind_display().lower()} came off on {piece.ended_on} already."
        )
    ended = [piece]
    _end(piece, EndReason(reason), on, job)
    if (other := joined(piece)) is not None and other.ended_on is None:
        _end(other, _of_the_other(EndReason(reason)), on, job)
        ended.append(other)
    if any(one.kind == PieceKind.BODY for one in ended) and reason != EndReason.MOVED:
        piece.wheel.ids.filter(until=None).update(until=on)
    return ended


def joined(piece: Fitted) -> Fitted | None:
    """The other half of a one-piece sensor."""
    if piece.joined_with_id is not None:
        return piece.joined_with
    return Fitted.objects.filter(joined_with=piece).first()


def _of_the_other(reason: EndReason) -> EndReason:
    """One half fails and the other is censored; what broke or moved the one did so to both."""
    shared = {EndReason.DAMAGED, EndReason.BROKEN_BY_US, EndReason.MOVED, EndReason.UNKNOWN}
    return reason if reason in shared else EndReason.REPLACED_GOOD


def _end(piece: Fitted, reason: EndReason, on: date, job: Job | None) -> None:
    latest = max(piece.since, piece.first_seen_on, piece.last_good_on or piece.since)
    if on < latest:
        raise ValidationError(
            f"This {piece.get_kind_display().lower()} was still there on {latest}; "
            "it came off on that day or later."
        )
    piece.ended_on, piece.end_reason, piece.ended_by_job = on, reason, job
    piece.save(update_fields=["ended_on", "end_reason", "ended_by_job"])


def stand_again(piece: Fitted) -> None:
    """Undo of `end_piece`: it never came off, nor did what is joined with it."""
    other = joined(piece)
    together = [piece, other] if other and other.ended_by_job == piece.ended_by_job else [piece]
    for one in together:
        one.ended_on, one.end_reason, one.ended_by_job = None, "", None
        one.save(update_fields=["ended_on", "end_reason", "ended_by_job"])


@transaction.atomic
def move_piece(piece: Fitted, *, to: Wheel, on: date, job: Job | None = None) -> list[Fitted]:
    """Put the same piece into another rim: it keeps its age, and a body takes its id along."""
    came_off = end_piece(piece, reason=EndReason.MOVED, on=on, job=job)
    fitted = [_continued(one, to, on, job) for one in came_off]
    if len(fitted) == 2:
        fitted[0].joined_with = fitted[1]
        fitted[0].save(update_fields=["joined_with"])
    if any(one.kind == PieceKind.BODY for one in came_off):
        _move_id(piece.wheel, to, on)
    return fitted


def _continued(piece: Fitted, to: Wheel, on: date, job: Job | None) -> Fitted:
    _check_nothing_there(to, PieceKind(piece.kind))
    return Fitted.objects.create(
        wheel=to,
        kind=piece.kind,
        part=piece.part,
        lot=piece.lot,
        printed_code=piece.printed_code,
        since=on,
        since_known=piece.since_known,
        first_seen_on=on,
        last_good_on=piece.last_good_on and on,
        by_job=job,
        continues=piece,
    )


def _move_id(wheel: Wheel, to: Wheel, on: date) -> None:
    its = wheel.ids.filter(until=None).first()
    if its is None:
        return
    its.until = on
    its.save(update_fields=["until"])
    to.ids.filter(until=None).update(until=on)
    WheelId.objects.update_or_create(
        wheel=to,
        since=on,
        defaults={"sensor_id": its.sensor_id, "origin": its.origin, "until": None},
    )


@transaction.atomic
def fit_part(
    wheel: Wheel,
    *,
    part: Part,
    on: date,
    job: Job | None = None,
    reasons: Mapping[str, str] | None = None,
    lot: Lot | None = None,
    printed_code: str = "",
    sensor_id: str = "",
    id_origin: str = IdOrigin.NEW,
) -> list[Fitted]:
    """Replace whatever this part replaces on a wheel; `reasons` say how each old piece ended.

    A piece without a reason of its own was good when it was replaced.
    """
    kinds = pieces_of(part)
    _clear(wheel, _making_way(wheel, part, kinds), reasons or {}, on, job)
    fitted = [
        fit_piece(wheel, kind=kind, on=on, part=part, lot=lot, printed_code=printed_code, job=job)
        for kind in kinds
    ]
    if part.construction == Construction.ONE_PIECE and part.kind == PartKind.ASSEMBLY:
        fitted[0].joined_with = fitted[1]
        fitted[0].save(update_fields=["joined_with"])
    if sensor_id:
        set_wheel_id(wheel, sensor_id=sensor_id, origin=id_origin, on=on)
    return fitted


def _making_way(wheel: Wheel, part: Part, kinds: Sequence[PieceKind]) -> Sequence[PieceKind]:
    """A plain valve takes the place of the whole sensor, where the sensor sits on the valve."""
    application = wheel.vehicle.application
    apart = application is not None and application.mounting in {Mounting.STRAP, Mounting.INSIDE}
    return tuple(PieceKind) if part.kind == PartKind.PLAIN_VALVE and not apart else kinds


def _clear(
    wheel: Wheel,
    kinds: Sequence[PieceKind],
    reasons: Mapping[str, str],
    on: date,
    job: Job | None,
) -> None:
    there = {piece.kind: piece for piece in wheel.fitted.now().filter(kind__in=kinds)}
    # What failed comes first: ending one half of a one-piece sensor ends the other as good.
    for kind in sorted(there, key=lambda one: one not in reasons):
        piece = Fitted.objects.get(pk=there[kind].pk)
        if piece.ended_on is None:
            reason = reasons.get(kind, EndReason.REPLACED_GOOD)
            end_piece(piece, reason=reason, on=on, job=job)
