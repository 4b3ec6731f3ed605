"""Asks, what became of them, and promises of pieces to jobs."""

from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import F, Sum
from django.utils import timezone

from inventory.catalog.models import Part
from inventory.ledger.entry import Delta, change_shelf, refusal
from inventory.ledger.models import Ask, AskOutcome, Hold, How, Posting, Shelf
from inventory.shop.models import Site


def log_ask(
    part: Part,
    *,
    site: Site,
    pieces: int,
    by: Any,
    key: str,
    job_key: str = "",
    wish: bool = False,
    at: datetime | None = None,
) -> Ask:
    """Write down that a part was wanted here; the same key gives the first ask back."""
    if pieces < 1:
        raise ValidationError(f"{pieces} pieces cannot be asked for; write 1 or more.")
    at = at or timezone.now()
    wanted = Ask(
        key=key,
        part=part,
        site=site,
        pieces=pieces,
        job_key=job_key,
        at=at,
        day=site.day_of(at),
        wish=wish,
        by=by,
    )
    Ask.objects.bulk_create([wanted], ignore_conflicts=True)
    return Ask.objects.get(key=key)


def settle_ask(
    ask: Ask,
    *,
    how: How,
    pieces: int,
    posting: Posting | None = None,
    at: datetime | None = None,
) -> AskOutcome:
    """Say how pieces of an ask were served or lost; never more pieces than were asked for."""
    if pieces < 1:
        raise ValidationError(f"{pieces} pieces cannot be settled; write 1 or more.")
    with transaction.atomic():
        # An ask never changes, so locking its row is all that keeps two settlings apart.
        Ask.objects.select_for_update().get(pk=ask.pk)
        open_pieces = ask.pieces - settled_pieces(ask)
        if pieces > open_pieces:
            raise ValidationError(
                f"Only {open_pieces} of the {ask.pieces} asked for are open, not {pieces}; "
                "settle fewer, or log another ask."
            )
        return AskOutcome.objects.create(
            ask=ask, how=how, pieces=pieces, posting=posting, at=at or timezone.now()
        )


def settled_pieces(ask: Ask) -> int:
    return int(ask.outcomes.aggregate(total=Sum("pieces"))["total"] or 0)


def withdraw_served(posting: Posting, *, at: datetime) -> None:
    """The asks an undone posting served are open no more: they are withdrawn."""
    for outcome in AskOutcome.objects.filter(posting__undoes=None, posting=posting.undoes):
        rows = [(outcome.how, -outcome.pieces), (How.WITHDRAWN, outcome.pieces)]
        AskOutcome.objects.bulk_create(
            AskOutcome(ask_id=outcome.ask_id, how=how, pieces=pieces, posting=posting, at=at)
            for how, pieces in rows
        )


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
    if pieces < 1:
        raise ValidationError(f"{pieces} pieces cannot be held; write 1 or more.")
    if not job_key:
        raise ValidationError("A hold needs the job it is for; write its number.")
    with transaction.atomic():
        if first := Hold.objects.filter(key=key).first():
            return first
        delta = Delta(held=pieces)
        if not change_shelf(part.pk, site.pk, delta):
            # A second writer of the same key may have taken the pieces for us just now.
            if first := Hold.objects.filter(key=key).first():
                return first
            raise ValidationError(refusal(part.pk, site.pk, delta))
        hold, made = Hold.objects.get_or_create(
            key=key,
            defaults={
                "shelf": Shelf.objects.get(part=part, site=site),
                "pieces": pieces,
                "pieces_promised": pieces,
                "job_key": job_key,
                "expires_at": expires_at,
                "deposit_cents": deposit_cents,
                "by": by,
            },
        )
        if not made:
            change_shelf(part.pk, site.pk, Delta(held=-pieces))
        return hold


def release_hold(hold: Hold, *, words: str) -> Hold:
    """Give what is left of a promise back to the shelf."""
    with transaction.atomic():
        left = Hold.objects.select_for_update().get(pk=hold.pk)
        if left.pieces and change_shelf(
            left.shelf.part_id, left.shelf.site_id, Delta(held=-left.pieces)
        ):
            Hold.objects.filter(pk=hold.pk).update(pieces=0, words=words)
    hold.refresh_from_db()
    return hold


def release_expired_holds(*, at: datetime | None = None) -> int:
    """Release every hold whose time is over; returns how many."""
    expired = list(Hold.objects.expired(at or timezone.now()))
    for hold in expired:
        release_hold(hold, words="Expired")
    return len(expired)


def use_hold(hold: Hold, pieces: int) -> None:
    """Take pieces off a promise whose shelf is already locked by the posting."""
    if not Hold.objects.filter(pk=hold.pk, pieces__gte=pieces).update(pieces=F("pieces") - pieces):
        raise ValidationError(
            f"The hold for {hold.job_key} changed meanwhile; open the job again and retry."
        )


def mark_arrived(hold: Hold, *, at: datetime | None = None) -> None:
    Hold.objects.filter(pk=hold.pk, arrived_at=None).update(arrived_at=at or timezone.now())
