"""A job from opening to closing: what was agreed, what was not wanted, why it came back."""

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from inventory.catalog.models import Part
from inventory.shop.models import Site
from jobs.workshop.actions.work import lock_open
from jobs.workshop.closing import needs
from jobs.workshop.keys import job_key
from jobs.workshop.models import (
    Approval,
    Cause,
    Declined,
    Job,
    Payer,
    PlannedPart,
    Vehicle,
    Wheel,
)


@transaction.atomic
def open_job(
    vehicle: Vehicle,
    *,
    site: Site,
    kind: str,
    technician: Any = None,
    odometer_km: int | None = None,
    lamp_before: str = "",
    words: str = "",
    order_number: str = "",
    booked_for: date | None = None,
    at: datetime | None = None,
) -> Job:
    """Open a job, or book one for a later day; the account's name goes onto it."""
    instant = at or timezone.now()
    day = site.day_of(instant)
    Vehicle.objects.select_for_update().get(pk=vehicle.pk)
    if booked_for is None:
        _check_none_open(vehicle)
    job = Job(
        key=job_key(site.code, booked_for or day),
        site=site,
        vehicle=vehicle,
        kind=kind,
        technician=technician,
        odometer_km=odometer_km,
        lamp_before=lamp_before,
        words=words.strip(),
        account=vehicle.account,
        payer=Payer.ACCOUNT if vehicle.account_id else Payer.CUSTOMER,
        order_number=order_number.strip(),
        booked_for=booked_for,
        opened_at=instant,
    )
    job.full_clean()
    job.save()
    return job


def _check_none_open(vehicle: Vehicle) -> None:
    other = vehicle.jobs.open().filter(booked_for=None).first()
    if other is not None:
        raise ValidationError(f"Job {other} is still open on {vehicle}; go on with that one.")


@transaction.atomic
def note_lamp(job: Job, *, before: str) -> Job:
    """How the lamp was as the vehicle came in: to be known before anything is done to it."""
    lock_open(job)
    job.lamp_before = before
    job.full_clean()
    job.save(update_fields=["lamp_before"])
    return job


@transaction.atomic
def plan_part(job: Job, *, part: Part, quantity: int) -> PlannedPart:
    """How many pieces of a part this job is expected to need, said anew each time."""
    lock_open(job)
    if quantity < 1:
        raise ValidationError("Plan at least 1 piece, or take the part off the plan.")
    return PlannedPart.objects.update_or_create(
        job=job, part=part, defaults={"quantity": quantity}
    )[0]


@transaction.atomic
def record_approval(
    job: Job,
    *,
    lines: str,
    who: str,
    how: str,
    decides_safety: bool = False,
    wheel: Wheel | None = None,
    above_limit: bool = False,
    at: datetime | None = None,
) -> Approval:
    """Who agreed to what; said again in the same words, it is the first approval.

    decides_safety : who said so lets the vehicle leave with a sensor missing or not working, in
        this wheel
    above_limit : the account agrees that the job goes above its limit
    """
    lock_open(job)
    if not who.strip():
        raise ValidationError("Write down who agreed.")
    said = {
        "lines": lines.strip(),
        "who": who.strip(),
        "how": how.strip(),
        "decides_safety": decides_safety,
        "wheel": wheel,
        "above_limit": above_limit,
    }
    if first := job.approvals.filter(**said).first():
        return first
    approval = Approval(job=job, at=at or timezone.now(), **said)
    approval.full_clean()
    approval.save()
    return approval


@transaction.atomic
def record_declined(
    job: Job,
    *,
    action: str,
    why: str,
    wheel: Wheel | None = None,
    part: Part | None = None,
    price_cents: int | None = None,
    for_price: bool = False,
    who: str = "",
    at: datetime | None = None,
) -> Declined:
    """What the customer did not want; it is shown when the vehicle comes again.

    Said again in the same words, it is the first refusal.
    """
    lock_open(job)
    said = {
        "wheel": wheel,
        "action": action,
        "part": part,
        "price_cents": price_cents,
        "why": why.strip(),
        "for_price": for_price,
        "who": who.strip(),
    }
    if first := job.declined.filter(**said).first():
        return first
    declined = Declined(job=job, at=at or timezone.now(), **said)
    declined.full_clean()
    declined.save()
    return declined


@transaction.atomic
def record_comeback(job: Job, *, of: Job, cause: str, payer: str) -> Job:
    """This job is the return of an earlier one, for this cause and at whose cost."""
    if of.pk == job.pk or of.vehicle_id != job.vehicle_id:
        raise ValidationError(
            f"Job {job} cannot be a comeback of job {of}; choose an earlier job of {job.vehicle}."
        )
    if of.opened_at > job.opened_at:
        raise ValidationError(f"Job {of} came after job {job}; choose an earlier one.")
    job.comeback_of, job.cause, job.payer = of, Cause(cause), Payer(payer)
    job.full_clean()
    job.save(update_fields=["comeback_of", "cause", "payer"])
    return job


CLOSING_FIELDS = (
    "lamp_before",
    "lamp_after",
    "odometer_km",
    "order_number",
    "pressures_set_cold",
    "wheel_nuts_tightened",
    "road_checked",
)


@transaction.atomic
def close_job(
    job: Job,
    *,
    answers: Mapping[str, Any] | None = None,
    reason: str = "",
    at: datetime | None = None,
) -> Job:
    """Close with what this kind of job needs (`answers`: CLOSING_FIELDS by name), or a reason."""
    lock_open(job)
    job = Job.objects.get(pk=job.pk)
    for name, value in (answers or {}).items():
        if name not in CLOSING_FIELDS:
            raise LookupError(f"“{name}” is not asked for when a job is closed.")
        setattr(job, name, value)
    missing = needs(job)
    refused = [need for need in missing if need.to_decide or not reason.strip()]
    if refused:
        raise ValidationError([need.sentence for need in refused])
    job.left_open_reason = reason.strip() if missing else ""
    job.closed_at = at or timezone.now()
    job.closed_on = job.site.day_of(job.closed_at)
    job.full_clean()
    job.save()
    return job
