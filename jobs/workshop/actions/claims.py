"""A failed part of ours that came off under the supplier's warranty: kept, and claimed."""

from dataclasses import dataclass
from datetime import date, datetime
from hashlib import sha256
from typing import Any

from django.db import transaction

from inventory.catalog.models import MadeOf, Part
from inventory.ledger.actions import Occasion, take_off_car
from inventory.reorder.actions.claims import months_after, open_claim
from inventory.reorder.models import Claim, DeliveryLine, Offer, Supplier
from jobs.workshop.models import EndReason, Fitted, Job, PieceKind


@dataclass(frozen=True, slots=True, kw_only=True)
class Warranty:
    supplier: Supplier
    until: date


def warranty_of(piece: Fitted) -> Warranty | None:
    """The supplier's warranty on a piece we fitted: of whoever brought it, else the longest."""
    first = first_fitted(piece)
    if first.part is None or first.by_job_id is None:
        return None
    offers = Offer.objects.filter(part=first.part, warranty_months__gt=0)
    terms = {
        offer.supplier_id: Warranty(
            supplier=offer.supplier, until=months_after(first.since, offer.warranty_months)
        )
        for offer in offers.valid_on(first.since).select_related("supplier").order_by("valid_from")
    }
    brought = _who_brought(first)
    if brought is not None:
        return terms.get(brought)
    return max(terms.values(), key=lambda one: one.until, default=None)


def first_fitted(piece: Fitted) -> Fitted:
    """The row in which the life of a piece began, before it was moved to other rims."""
    while piece.continues is not None:
        piece = piece.continues
    return piece


def _who_brought(piece: Fitted) -> int | None:
    if piece.lot_id is None:
        return None
    lines = DeliveryLine.objects.filter(posting__movements__lot=piece.lot_id)
    return lines.values_list("delivery__supplier", flat=True).first()


@transaction.atomic
def claim_piece(piece: Fitted, *, job: Job, by: Any, at: datetime | None = None) -> Claim | None:
    """Keep a failed piece on the claim shelf at no value and open its claim.

    None where it did not fail, was not ours, or its warranty is over. A piece is claimed once.
    """
    warranty = warranty_of(piece)
    failed_on = piece.ended_on
    if warranty is None or failed_on is None or piece.end_reason not in EndReason.wear():
        return None
    if failed_on > warranty.until:
        return None
    first = first_fitted(piece)
    part = part_of_piece(first)
    if part is None:
        return None
    take_off_car(
        part,
        site=job.site,
        by=by,
        key=f"off:{piece.key}",
        occasion=Occasion(words=job.key, on=failed_on),
        maker_code=first.printed_code,
        at=at,
    )
    return open_claim(
        part,
        supplier=warranty.supplier,
        key=_claim_key(piece),
        failed_on=failed_on,
        by=by,
        lot=first.lot,
        job_key=job.key,
        fitted_by_job_key=first.by_job.key if first.by_job else "",
        fitted_on=first.since,
        odometer_km=job.odometer_km,
        printed_code=first.printed_code,
        claim_by=warranty.until,
    )


def _claim_key(piece: Fitted) -> str:
    """The piece's own key, or a digest of one too long for a claim: one piece, one claim."""
    return piece.key if len(piece.key) <= 24 else sha256(piece.key.encode()).hexdigest()[:24]


def part_of_piece(piece: Fitted) -> Part | None:
    """The part to name: of an assembly's body or stem that piece, where it is sold apart."""
    if piece.part is None or piece.kind not in {PieceKind.BODY, PieceKind.STEM}:
        return piece.part
    made_of = MadeOf.objects.filter(whole=piece.part, piece__kind=piece.kind)
    its = made_of.select_related("piece").first()
    return its.piece if its else piece.part
