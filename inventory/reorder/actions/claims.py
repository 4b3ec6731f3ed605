"""Failed parts on their way back to a supplier, and what came of each: credited or refused.

The shelf they wait on is the ledger's: a piece leaves it when its claim is sent. What a credit does
to a job's margin is computed with the jobs.
"""

from collections.abc import Sequence
from datetime import date
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from inventory.catalog.models import Counted, Part
from inventory.ledger.actions import (
    Occasion,
    lock_shelves,
    return_to_supplier,
    scrap_stock,
    take_off_car,
)
from inventory.ledger.models import Condition, Lot, LotQuerySet
from inventory.reorder.models import Claim, ClaimStatus, Offer, Supplier
from inventory.shop.models import Change, Site


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
def claim_by_hand(
    part: Part, *, supplier: Supplier, site: Site, key: str, failed_on: date, by: Any, **facts: Any
) -> Claim:
    """Claim a part that no job has claimed by itself, and lay it on the claim shelf at no value."""
    claim = open_claim(part, supplier=supplier, key=key, failed_on=failed_on, by=by, **facts)
    if part.counted != Counted.NOT:
        take_off_car(
            part,
            site=site,
            by=by,
            key=f"claim/{key}",
            occasion=Occasion(words=_came_from(claim), on=failed_on),
            maker_code=claim.printed_code,
        )
    return claim


def waiting_lots(claim: Claim) -> LotQuerySet:
    """Where the piece of a claim waits: what its job took off lies there under the job's key."""
    there = Lot.objects.left().filter(condition=Condition.CLAIM, came_from=_came_from(claim))
    lots = there.filter(shelf__part=claim.part_id)
    return lots.select_related("shelf__site", "bin").order_by("pk")


def _came_from(claim: Claim) -> str:
    return claim.job_key or f"Claim {claim.key}"


@transaction.atomic
def send_claims(claims: Sequence[Claim], *, on: date, by: Any) -> list[Claim]:
    """Mark claims as sent in one box; their pieces leave the claim shelf."""
    if not claims:
        raise ValidationError("No claim is chosen; tick those that go into the box.")
    # Shelves are locked in the order of their parts, as every posting does.
    lock_shelves(
        [(lot.shelf.part_id, lot.shelf.site_id) for claim in claims for lot in waiting_lots(claim)]
    )
    return [send_claim(claim, on=on, by=by) for claim in claims]


@transaction.atomic
def send_claim(claim: Claim, *, on: date, by: Any) -> Claim:
    claim = _locked(claim)
    if claim.status == ClaimStatus.SENT:
        return claim
    if claim.status != ClaimStatus.OPEN:
        raise ValidationError(
            f"Claim {claim} is already {claim.get_status_display().lower()}; open a new one."
        )
    if lot := waiting_lots(claim).first():
        return_to_supplier(
            lot,
            pieces=1,
            by=by,
            key=f"claim/{claim.key}/sent",
            words=f"Claim {claim}",
            occasion=Occasion(words=claim.job_key, on=on) if claim.job_key else None,
        )
    claim.status, claim.sent_on = ClaimStatus.SENT, on
    claim.full_clean()
    claim.save()
    return claim


@transaction.atomic
def scrap_claimed(claim: Claim, *, by: Any) -> Claim:
    """Write off the piece of a settled claim that the supplier did not want back."""
    claim = _locked(claim)
    if not claim.is_settled:
        raise ValidationError(
            f"Claim {claim} has no answer yet; write down the supplier's answer, then scrap it."
        )
    if lot := waiting_lots(claim).first():
        scrap_stock(
            claim.part,
            site=lot.shelf.site,
            pieces=1,
            by=by,
            key=f"claim/{claim.key}/scrapped",
            words=f"Claim {claim} {claim.get_status_display().lower()}",
            lot=lot,
        )
    return claim


def _locked(claim: Claim) -> Claim:
    return Claim.objects.select_for_update(of=("self",)).select_related("part").get(pk=claim.pk)


@transaction.atomic
def settle_claim(claim: Claim, *, credit_cents: int, on: date, by: Any, words: str = "") -> Claim:
    """Write down the supplier's answer: a credit, or 0 for a refusal."""
    claim = _locked(claim)
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
