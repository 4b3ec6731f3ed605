"""Asks, and what became of them."""

from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Sum
from django.utils import timezone

from inventory.catalog.models import Part
from inventory.ledger.keys import insert_once
from inventory.ledger.models import Ask, AskOutcome, How, Posting
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
    return wanted if insert_once(wanted) else Ask.objects.get(key=key)


def settle_ask(
    ask: Ask,
    *,
    how: How,
    pieces: int,
    posting: Posting | None = None,
    at: datetime | None = None,
    key: str = "",
) -> AskOutcome:
    """Say how pieces of an ask were served or lost; never more pieces than were asked for.

    The same key gives the first outcome back; without one, the next number of this ask is used.
    """
    if pieces < 1:
        raise ValidationError(f"{pieces} pieces cannot be settled; write 1 or more.")
    with transaction.atomic():
        open_pieces = open_locked(ask)
        if first := AskOutcome.objects.filter(key=key).first():
            return first
        if pieces > open_pieces:
            raise ValidationError(
                f"Only {open_pieces} of the {ask.pieces} asked for are open, not {pieces}; "
                "settle fewer, or log another ask."
            )
        return AskOutcome.objects.create(
            key=key or f"{ask.key}/{ask.outcomes.count() + 1}",
            ask=ask,
            how=how,
            pieces=pieces,
            posting=posting,
            at=at or timezone.now(),
        )


def open_locked(ask: Ask) -> int:
    """Pieces of an ask without an outcome. An ask never changes: locking its row is enough."""
    Ask.objects.select_for_update().get(pk=ask.pk)
    return ask.pieces - settled_pieces(ask)


def settled_pieces(ask: Ask) -> int:
    return int(ask.outcomes.aggregate(total=Sum("pieces"))["total"] or 0)


def serve_ask(
    ask: Ask | None,
    part: Part,
    *,
    site: Site,
    pieces: int,
    posting: Posting,
    how: How | None = None,
    wish: bool = False,
) -> None:
    """Pieces issued answer the ask; those beyond what it has open were an ask of their own."""
    served = min(pieces, open_locked(ask)) if ask else 0
    if ask and served:
        told = how or (How.SHELF if ask.part_id == part.pk else How.SUBSTITUTE)
        insert_once(_outcome(ask, told, served, posting, 1))
    if served == pieces:
        return
    own = log_ask(
        part,
        site=site,
        pieces=pieces - served,
        by=posting.by,
        key=f"{posting.key}:ask",
        job_key=posting.occasion,
        wish=wish,
        at=posting.happened_at,
    )
    insert_once(_outcome(own, how or How.SHELF, pieces - served, posting, 2))


def withdraw_served(issue: Posting, *, pieces: int, by_posting: Posting) -> None:
    """Pieces that came back from an issue were not wanted: the asks they served say so."""
    rows: list[AskOutcome] = []
    # A workbook may bring back of several issues under one posting.
    told = by_posting.outcomes.count()
    served = issue.outcomes.filter(pieces__gt=0).exclude(how=How.WITHDRAWN)
    for outcome in served.select_related("ask").order_by("-pk"):
        ask = Ask.objects.select_for_update().get(pk=outcome.ask_id)
        left = ask.outcomes.filter(how=outcome.how).aggregate(total=Sum("pieces"))["total"] or 0
        count = min(pieces, left, outcome.pieces)
        if count <= 0:
            continue
        pieces -= count
        for how, signed in ((How(outcome.how), -count), (How.WITHDRAWN, count)):
            rows.append(_outcome(ask, how, signed, by_posting, told + len(rows) + 1))
    AskOutcome.objects.bulk_create(rows)


def reverse_outcomes(posting: Posting, *, by_posting: Posting) -> None:
    """What a posting said of asks is no longer so."""
    said = posting.outcomes.select_related("ask").order_by("pk")
    AskOutcome.objects.bulk_create(
        _outcome(each.ask, How(each.how), -each.pieces, by_posting, number)
        for number, each in enumerate(said, start=1)
    )


def _outcome(ask: Ask, how: How, pieces: int, posting: Posting, number: int) -> AskOutcome:
    return AskOutcome(
        key=f"{posting.key}:ask/{number}",
        ask=ask,
        how=how,
        pieces=pieces,
        posting=posting,
        at=posting.happened_at,
    )
