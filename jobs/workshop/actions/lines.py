"""What a job sells: parts from the shelf with the price of the day, and work.

Stock is the ledger's: an issue carries the job as its occasion, and the line points to it.
"""

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from inventory.action_form import new_key
from inventory.catalog.models import Counted, Part
from inventory.ledger.actions import (
    Occasion,
    issue_stock,
    log_ask,
    return_stock,
    still_out,
)
from inventory.ledger.lots import share_of
from inventory.ledger.models import Ask, Condition, Hold, Lot, Movement, Posting
from inventory.shop.actions import record_changes
from inventory.shop.models import ShopSettings
from jobs.workshop.actions.work import check_wheels, lock_open
from jobs.workshop.models import Job, JobLine, LineKind, Wheel
from jobs.workshop.prices import for_minutes, less_discount, selling_prices


@transaction.atomic
def issue_part_for_job(
    job: Job,
    *,
    part: Part,
    quantity: int = 1,
    by: Any,
    key: str,
    wheel: Wheel | None = None,
    action: str = "",
    wanted: Part | None = None,
    price_cents: int | None = None,
    payer: str = "",
    lot: Lot | None = None,
    at: datetime | None = None,
) -> JobLine:
    """Issue a part and sell it on this job; the same key gives the first line back.

    wanted : the part the job asked for, where this one stands in for it
    price_cents : of the whole line, instead of the price of the day; the log of changes keeps both
    """
    lock_open(job)
    check_wheels(job, [wheel] if wheel else [])
    if first := JobLine.objects.filter(key=key).first():
        return first
    instant = at or timezone.now()
    of_the_day = _price_of_the_day(job, part, quantity, instant)
    price = of_the_day if price_cents is None else price_cents
    if price is None:
        raise ValidationError(f"{part} has no selling price; write the price of this line.")
    line = JobLine(
        key=key,
        job=job,
        kind=LineKind.PART,
        wheel=wheel,
        action=action,
        part=part,
        posting=_issued(job, part, wanted, quantity, by, key, lot, instant),
        words=part.words,
        quantity=quantity,
        price_cents=price,
        payer=payer or job.payer,
    )
    line.full_clean()
    line.save()
    if price != of_the_day:
        values = {"price_cents": of_the_day}, {"price_cents": price}
        record_changes([(line, f"price of {part} on job {job}", *values)], by=by)
    return line


def _price_of_the_day(job: Job, part: Part, quantity: int, at: datetime) -> int | None:
    """For the whole line; None where the part has no price."""
    piece = selling_prices([part], job.site.day_of(at)).get(part.pk)
    return None if piece is None else less_discount(piece * quantity, job.account)


def _issued(
    job: Job,
    part: Part,
    wanted: Part | None,
    quantity: int,
    by: Any,
    key: str,
    lot: Lot | None,
    at: datetime,
) -> Posting | None:
    """The posting of an issue; None for what is not counted, such as caps from a jar."""
    if part.counted == Counted.NOT:
        return None
    return issue_stock(
        part,
        site=job.site,
        pieces=quantity,
        by=by,
        key=key,
        occasion=Occasion(words=job.key, on=job.site.day_of(at)),
        at=at,
        ask=_ask(job, part, wanted, quantity, by, key, at),
        hold=_own_hold(job, part),
        lot=lot,
    )


def _ask(
    job: Job, part: Part, wanted: Part | None, quantity: int, by: Any, key: str, at: datetime
) -> Ask | None:
    """What stands in for another part was asked for as that other part; a wish was asked for."""
    if wanted is None or wanted.pk == part.pk:
        wishes = Ask.objects.open().filter(wish=True, job_key=job.key, part=part, site=job.site)
        return wishes.order_by("pk").first()
    return log_ask(
        wanted,
        site=job.site,
        pieces=quantity,
        by=by,
        key=f"{key}:wanted",
        job_key=job.key,
        at=at,
    )


def _own_hold(job: Job, part: Part) -> Hold | None:
    own = Hold.objects.standing().filter(job_key=job.key)
    return own.filter(shelf__part=part, shelf__site=job.site).order_by("made_at", "pk").first()


@transaction.atomic
def return_part_from_job(
    line: JobLine,
    *,
    pieces: int,
    by: Any,
    key: str,
    condition: Condition = Condition.SEALED,
    at: datetime | None = None,
) -> JobLine:
    """Take back pieces a job did not use; the line keeps what it still sells."""
    lock_open(line.job)
    line = JobLine.objects.get(pk=line.pk)
    if Posting.objects.filter(key=f"{key}:1").exists():
        return line
    if not 1 <= pieces <= line.quantity or line.kind != LineKind.PART:
        raise ValidationError(
            f"This line sells {line.quantity}; return between 1 and that many pieces."
        )
    left = pieces
    issued = line.posting.movements.order_by("-pk") if line.posting else ()
    for number, movement in enumerate(_still_out(issued), start=1):
        some = min(left, still_out(movement)[0])
        if some:
            return_stock(
                movement, pieces=some, by=by, key=f"{key}:{number}", condition=condition, at=at
            )
            left -= some
    remaining = line.quantity - pieces
    line.price_cents = share_of(line.price_cents, remaining, line.quantity)
    line.quantity = remaining
    line.save(update_fields=["price_cents", "quantity"])
    return line


def _still_out(movements: Iterable[Movement]) -> list[Movement]:
    return [movement for movement in movements if still_out(movement)[0]]


@transaction.atomic
def note_done(job: Job, *, wheel: Wheel, action: str, words: str, key: str) -> JobLine:
    """What was done and is not charged, such as a core from the jar; a key notes it once."""
    lock_open(job)
    check_wheels(job, [wheel])
    if first := JobLine.objects.filter(key=key).first():
        return first
    line = JobLine(
        key=key,
        job=job,
        kind=LineKind.OTHER,
        wheel=wheel,
        action=action,
        words=words,
        payer=job.payer,
    )
    line.full_clean()
    line.save()
    return line


@transaction.atomic
def add_labour(
    job: Job,
    *,
    minutes: int,
    words: str,
    wheel: Wheel | None = None,
    action: str = "",
    price_cents: int | None = None,
    payer: str = "",
    key: str = "",
) -> JobLine:
    """Work by the minute at the shop's prices, less the account's discount."""
    lock_open(job)
    check_wheels(job, [wheel] if wheel else [])
    if minutes < 1:
        raise ValidationError("Write the minutes of work, 1 or more.")
    if first := JobLine.objects.filter(key=key).first() if key else None:
        return first
    shop = ShopSettings.load()
    price = less_discount(for_minutes(shop.labour_price_cents, minutes), job.account)
    line = JobLine(
        key=key or new_key(),
        job=job,
        kind=LineKind.LABOUR,
        wheel=wheel,
        action=action,
        words=words.strip(),
        quantity=minutes,
        price_cents=price if price_cents is None else price_cents,
        labour_cost_cents=for_minutes(shop.labour_cost_cents, minutes),
        payer=payer or job.payer,
    )
    line.full_clean()
    line.save()
    return line
