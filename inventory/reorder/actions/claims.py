"""Failed parts on their way back to a supplier, and what came of each: credited or refused.

The shelf they wait on is the ledger's; what a credit does to a job's margin is computed with the
jobs.
"""

from datetime import date
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from inventory.catalog.models import Part
from inventory.reorder.models import Claim, ClaimStatus, Offer, Supplier
from inventory.shop.models import Change


@transaction.atomic
def open_claim(
    part: Part, *, supplier: Supplier, key: str, failed_on: date, by: Any, **facts: Any
) -> Claim:
    """Open a claim once per key; without a last day given, the supplier's warranty says it."""
    found = Claim.objects.filter(key=key).first()
    if found:
        return found
    claim = Claim(part=part, supplier=supplier, key=key, failed_on=failed_on, by=by, **facts)
    if claim.fitted_on and claim.fitted_on > failed_on:
        raise ValidationError(
            f"{part} was fitted on {claim.fitted_on} and cannot have failed on {failed_on}; "
            "correct one of the days."
        )
    if claim.claim_by is None and claim.fitted_on:
        claim.claim_by = warranty_end(supplier, part, claim.fitted_on)
    claim.full_clean()
    claim.save()
    return claim


def warranty_end(supplier: Supplier, part: Part, fitted_on: date) -> date | None:
    """The last day on which a part fitted that day can be claimed; None without a warranty."""
    offers = Offer.objects.filter(supplier=supplier, part=part, warranty_months__gt=0)
    then = offers.valid_on(fitted_on).order_by("-valid_from").first()
    return months_after(fitted_on, then.warranty_months) if then else None


def months_after(day: date, months: int) -> date:
    """The same day so many months on, or the last day of that month when it has none."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    for last in (day.day, 30, 29, 28):
        try:
            return date(year, month + 1, last)
        except ValueError:
            continue
    raise AssertionError("every month has 28 days")


@transaction.atomic
def send_claim(claim: Claim, *, on: date) -> Claim:
    claim = Claim.objects.select_for_update(of=("self",)).select_related("part").get(pk=claim.pk)
    if claim.status == ClaimStatus.SENT:
        return claim
    if claim.status != ClaimStatus.OPEN:
        raise ValidationError(
            f"Claim {claim} is already {claim.get_status_display().lower()}; open a new one."
        )
    claim.status, claim.sent_on = ClaimStatus.SENT, on
    claim.full_clean()
    claim.save()
    return claim


@transaction.atomic
def settle_claim(claim: Claim, *, credit_cents: int, on: date, by: Any, words: str = "") -> Claim:
    """Write down the supplier's answer: a credit, or 0 for a refusal."""
    claim = Claim.objects.select_for_update().get(pk=claim.pk)
    status = ClaimStatus.CREDITED if credit_cents else ClaimStatus.REFUSED
    if claim.settled_on is not None:
        if (claim.status, claim.credit_cents) == (status, credit_cents):
            return claim
        raise ValidationError(
            f"Claim {claim} was {claim.get_status_display().lower()} on {claim.settled_on}; "
            "a second answer needs a claim of its own."
        )
    if on < claim.failed_on:
        raise ValidationError(
            f"Claim {claim} is for a part that failed on {claim.failed_on}; "
            "the answer comes on that day or later."
        )
    claim.status, claim.credit_cents, claim.settled_on = status, credit_cents, on
    claim.words = words
    claim.full_clean()
    claim.save()
    Change.objects.create(
        by=by,
        kind=Claim._meta.label,
        record=str(claim.pk),
        words=f"Claim {claim} {claim.get_status_display().lower()}",
        after={"credit_cents": credit_cents},
    )
    return claim
