"""Pieces promised to a job: still on the shelf, no longer for others.

The shelf is always locked before its holds, as a posting does it. A promise whose time is over
stands until somebody calls again or releases it: a deposit may have been paid, and today's page and
the page of holds name it first.
"""

from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import F
from django.utils import timezone

from inventory.catalog.models import Part
from inventory.ledger.keys import insert_once
from inventory.ledger.models import Hold, Shelf
from inventory.ledger.shelves import (
    Delta,
    change_shelf,
    check_pieces,
    check_sells,
    lock_shelves,
    refusal,
)
from inventory.shop.models import Site


def hold_parts(
    part: Part,
    *,
    site: Site,
    pieces: int,
    job_key: str,
    by: Any,
    key: str,
    expires_at: datetime | None = None,
    deposit_cents: int = 0,
) -> Hold:
    """Promise pieces on the shelf to a job; the same key gives the first hold back."""
    check_pieces(pieces, part)
    check_sells(site)
    if not job_key:
        raise ValidationError("A hold needs the job it is for; write its number.")
    with transaction.atomic():
        lock_shelves([(part.pk, site.pk)])
        hold = Hold(
            key=key,
            shelf=Shelf.objects.get(part=part, site=site),
            pieces=pieces,
            pieces_promised=pieces,
            job_key=job_key,
            expires_at=expires_at,
            deposit_cents=deposit_cents,
            by=by,
        )
        if not insert_once(hold):
            return Hold.objects.get(key=key)
        delta = Delta(held=pieces)
        if not change_shelf((part.pk, site.pk), delta):
            raise ValidationError(refusal((part.pk, site.pk), delta, "hold"))
        return hold


def release_hold(hold: Hold, *, words: str) -> Hold:
    """Give what is left of a promise back to the shelf."""
    shelf = (hold.shelf.part_id, hold.shelf.site_id)
    with transaction.atomic():
        lock_shelves([shelf])
        hold.refresh_from_db()
        if hold.pieces:
            change_shelf(shelf, Delta(held=-hold.pieces))
            hold.pieces, hold.words = 0, words
            Hold.objects.filter(pk=hold.pk).update(pieces=0, words=words)
    return hold


def keep_hold_until(hold: Hold, *, until: datetime) -> Hold:
    """The customer was called: the promise now ends at an instant, collected or not."""
    if not Hold.objects.standing().filter(pk=hold.pk).update(expires_at=until):
        raise ValidationError(
            f"Nothing is held for {hold.job_key} any more; look at the job, or hold parts again."
        )
    hold.refresh_from_db()
    return hold


def use_hold(hold: Hold, pieces: int) -> None:
    """Take pieces off a promise whose shelf is already locked by the posting."""
    if not Hold.objects.filter(pk=hold.pk, pieces__gte=pieces).update(pieces=F("pieces") - pieces):
        raise ValidationError(
            f"The hold for {hold.job_key} changed meanwhile; open the job again and retry."
        )


def restore_hold(hold_id: int, pieces: int) -> None:
    """Promise pieces again whose issue was undone; the shelf has them as held already."""
    Hold.objects.filter(pk=hold_id).update(pieces=F("pieces") + pieces, words="")


def mark_arrived(hold: Hold, *, at: datetime | None = None) -> None:
    Hold.objects.filter(pk=hold.pk, arrived_at=None).update(arrived_at=at or timezone.now())
