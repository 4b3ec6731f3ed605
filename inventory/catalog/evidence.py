"""What jobs teach the catalogue: parts that answered or did not fit, and beginnings of VINs.

The catalogue's own fitments stay as they are; a parts manager decides what evidence changes.
"""

from collections.abc import Iterable
from datetime import date
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import F

from inventory.catalog.codes import normalised
from inventory.catalog.models import Application, Evidence, EvidenceKind, Part, VinPattern

_PATTERN_LENGTH = 8


def confirm_fit(
    application: Application,
    parts: Iterable[Part],
    *,
    job_key: str,
    built_month: date | None = None,
    by: Any,
) -> None:
    """These parts were fitted and answered. A job says so of a part once."""
    Evidence.objects.bulk_create(
        [
            Evidence(
                application=application,
                part=part,
                kind=EvidenceKind.CONFIRMED,
                built_month=built_month,
                job_key=job_key,
                by=by,
            )
            for part in dict.fromkeys(parts)
        ],
        ignore_conflicts=True,
    )


def contradict_fit(
    application: Application,
    part: Part,
    *,
    reason: str,
    job_key: str,
    built_month: date | None = None,
    by: Any,
) -> Evidence:
    """This part did not fit or was not heard; the first reason a job gives stays."""
    if not reason.strip():
        raise ValidationError("Say why the part did not fit.")
    return Evidence.objects.get_or_create(
        application=application,
        part=part,
        kind=EvidenceKind.CONTRADICTED,
        job_key=job_key,
        defaults={"built_month": built_month, "reason": reason.strip()[:200], "by": by},
    )[0]


@transaction.atomic
def learn_vin_pattern(application: Application, *, vin: str, year: int) -> VinPattern | None:
    """One more vehicle of this application whose number begins so; None where it is too short."""
    start = normalised(vin)[:_PATTERN_LENGTH]
    if len(start) < _PATTERN_LENGTH:
        return None
    pattern, is_new = VinPattern.objects.get_or_create(
        start=start, year=year, application=application
    )
    if not is_new:
        VinPattern.objects.filter(pk=pattern.pk).update(vehicles=F("vehicles") + 1)
        pattern.refresh_from_db(fields=["vehicles"])
    return pattern
