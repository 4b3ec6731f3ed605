"""Fitting what a job has issued: the pieces it replaces end, and failed ones are claimed.

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
from jobs.workshop.actions.pieces import fit_part
from jobs.workshop.actions.work import check_wheels, lock_open
from jobs.workshop.models import Fitted, IdOrigin, JobLine, Wheel


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


def _lot(line: JobLine) -> Lot | None:
    """The lot of an issue; None where pieces of several lots went out together."""
    if line.posting is None:
        return None
    movements = list(line.posting.movements.select_related("lot")[:2])
    return movements[0].lot if len(movements) == 1 else None
