"""Fitting what a job has issued: the pieces it replaces end, and failed ones are claimed. Its undo.

`fit_part` in pieces does the same without a job line, for what another shop fitted.
"""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from inventory.ledger.models import Lot
from jobs.workshop.actions.claims import claim_piece
from jobs.workshop.actions.lines import return_part_from_job
from jobs.workshop.actions.pieces import fit_part, stand_again
from jobs.workshop.actions.work import check_wheels, lock_open
from jobs.workshop.models import Fitted, IdOrigin, JobLine, PieceKind, Wheel


@transaction.atomic
def fit_issued_part(
    line: JobLine,
    *,
    wheel: Wheel | None = None,
    reasons: Mapping[str, str] | None = None,
    printed_code: str = "",
    sensor_id: str = "",
    id_origin: str = IdOrigin.NEW,
    by: Any,
    at: datetime | None = None,
) -> list[Fitted]:
    """Fit the part of a line; `reasons` say how each piece that comes off ended, by its kind."""
    job, wheel = line.job, wheel or line.wheel
    lock_open(job)
    if line.part is None or wheel is None:
        raise ValidationError("Choose the wheel and a line that sells a part.")
    check_wheels(job, [wheel])
    fitted = fit_part(
        wheel,
        part=line.part,
        on=job.site.day_of(at or timezone.now()),
        job=job,
        reasons=reasons,
        lot=_lot(line),
        printed_code=printed_code,
        sensor_id=sensor_id,
        id_origin=id_origin,
    )
    for piece in job.taken_off.filter(wheel=wheel):
        claim_piece(piece, job=job, by=by, at=at)
    return fitted


@transaction.atomic
def take_back_line(line: JobLine, *, by: Any, key: str) -> JobLine:
    """Undo a line of parts: they go back to the shelf, and what made way for them stands again."""
    lock_open(line.job)
    line.refresh_from_db(fields=["quantity"])
    for piece in _fitted_with(line):
        if piece.kind == PieceKind.BODY:
            raise ValidationError(
                f"{line.part} stands on wheel {piece.wheel} now; fit what belongs there instead."
            )
        before = line.job.taken_off.filter(wheel=piece.wheel_id, kind=piece.kind).last()
        piece.delete()
        if before is not None:
            stand_again(before)
    return return_part_from_job(line, pieces=line.quantity, by=by, key=key)


def _fitted_with(line: JobLine) -> list[Fitted]:
    """What this line put on wheels and still stands there, as far as it still sells it."""
    own = line.job.fitted.now().filter(part=line.part).select_related("wheel")
    if line.wheel is not None:
        own = own.filter(wheel=line.wheel)
    wheels = list(dict.fromkeys(own.order_by("-pk").values_list("wheel", flat=True)))
    return list(own.filter(wheel__in=wheels[: line.quantity]))


def _lot(line: JobLine) -> Lot | None:
    """The lot of an issue; None where pieces of several lots went out together."""
    if line.posting is None:
        return None
    movements = list(line.posting.movements.select_related("lot")[:2])
    return movements[0].lot if len(movements) == 1 else None
