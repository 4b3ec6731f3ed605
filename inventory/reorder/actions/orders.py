"""Orders on their way out: drafted from the plan or for a job, edited, sent, withdrawn.

What comes back is in `deliveries`. Pieces and packs are whole numbers, money is cents.
"""

from collections.abc import Sequence
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import F, Max
from django.utils import timezone

from inventory.catalog.models import Part
from inventory.ledger.actions import log_ask
from inventory.reorder.models import Offer, Order, OrderLine, OrderStatus, PlanLine, Supplier
from inventory.shop.models import Site


@transaction.atomic
def draft_order(lines: Sequence[PlanLine], *, by: Any) -> Order:
    """Put what the plan suggests on the supplier's draft; packs that a person edited stay."""
    suppliers = {(line.supplier_id, line.site_id) for line in lines}
    if len(suppliers) != 1 or not lines[0].supplier:
        raise ValidationError(
            "Lines of one supplier and one site go on one order; choose those and draft again."
        )
    order = _draft(lines[0].supplier, lines[0].site, by)
    drafted = {line.part_id: line for line in order.lines.filter(job_key="")}
    again = [line for line in lines if line.part_id in drafted]
    new = [line for line in lines if line.suggested_packs and line.part_id not in drafted]
    for plan_line in again:
        _suggest_again(drafted[plan_line.part_id], plan_line)
    OrderLine.objects.bulk_create(
        OrderLine(
            order=order,
            line=number,
            part_id=plan_line.part_id,
            packs=plan_line.suggested_packs,
            pack=plan_line.pack,
            pack_price_cents=plan_line.pack_price_cents,
            suggested_packs=plan_line.suggested_packs,
        )
        for number, plan_line in enumerate(new, start=_next_line(order))
    )
    return order


def _suggest_again(line: OrderLine, plan_line: PlanLine) -> None:
    untouched = line.suggested_packs == line.packs
    if untouched and plan_line.suggested_packs:
        line.packs, line.pack = plan_line.suggested_packs, plan_line.pack
        line.pack_price_cents = plan_line.pack_price_cents
    line.suggested_packs = plan_line.suggested_packs
    line.save(update_fields=["packs", "pack", "pack_price_cents", "suggested_packs"])


@transaction.atomic
def add_to_draft(
    supplier: Supplier,
    *,
    site: Site,
    part: Part,
    pieces: int,
    by: Any,
    job_key: str = "",
    wish: bool = False,
) -> OrderLine:
    """Order a part by hand or for a job; asked for again, the line holds the larger quantity.

    A wish is written down as an ask that no plan counts; the job's issue then answers that ask.
    """
    if pieces < 1:
        raise ValidationError(f"Order at least 1 of {part}; got {pieces}.")
    offer = cheapest_offer(supplier, part, pieces=pieces, day=site.today())
    pack = offer.pack if offer else 1
    packs = offer.packs_for(pieces) if offer else pieces
    order = _draft(supplier, site, by)
    line = order.lines.filter(part=part, job_key=job_key).first() or OrderLine(
        order=order, line=_next_line(order), part=part, packs=0, job_key=job_key, wish=wish
    )
    line.packs = max(packs, -(-line.pieces // pack))
    line.pack = pack
    line.pack_price_cents = offer.price_of(line.packs) if offer else None
    line.full_clean()
    line.save()
    if line.wish:
        key = f"order/{order.key}/{line.line}"
        log_ask(part, site=site, pieces=pieces, by=by, key=key, job_key=job_key, wish=True)
    return line


@transaction.atomic
def change_lines(order: Order, *, packs: dict[int, int], by: Any) -> Order:
    """Set the packs of lines, by primary key, at the price for so many; 0 takes a line off."""
    order = _locked(order)
    _only_draft(order, "change its lines")
    for line in order.lines.select_related("part").filter(pk__in=packs):
        if packs[line.pk] == 0:
            line.delete()
        elif packs[line.pk] != line.packs:
            _change_line(order, line, packs[line.pk])
    order.by = by
    order.save(update_fields=["by"])
    return order


def _change_line(order: Order, line: OrderLine, packs: int) -> None:
    today = order.site.today()
    offer = cheapest_offer(
        order.supplier, line.part, pieces=packs * line.pack, day=today, pack=line.pack
    )
    if offer and packs < offer.minimum_packs:
        raise ValidationError(
            f"{order.supplier} sells {line.part} from {offer.minimum_packs} packs; "
            f"order {offer.minimum_packs} or more, or 0 to take the line off."
        )
    line.packs = packs
    if offer:
        line.pack_price_cents = offer.price_of(packs)
    line.full_clean()
    line.save()


@transaction.atomic
def send_order(
    order: Order, *, by: Any, packs: dict[int, int] | None = None, at: datetime | None = None
) -> Order:
    """Mark a draft as sent, with the day it is expected. A second click changes nothing.

    packs : as the page shows them, by primary key of the line; what was typed is what is sent
    """
    order = _locked(order)
    if order.status == OrderStatus.SENT:
        return order
    _only_draft(order, "send it")
    if packs:
        change_lines(order, packs=packs, by=by)
    if not order.lines.exists():
        raise ValidationError(f"Order {order} has no lines; add a part before you send it.")
    order.sent_at = at or timezone.now()
    order.expected_on = order.supplier.arrives_on(
        order.sent_at.astimezone(ZoneInfo(order.site.zone))
    )
    order.status, order.by = OrderStatus.SENT, by
    order.full_clean()
    order.save()
    return order


@transaction.atomic
def withdraw_order(order: Order, *, by: Any) -> Order:
    """Expect nothing more of this order: what came stays, the rest of each line is withdrawn."""
    order = _locked(order)
    if order.status == OrderStatus.WITHDRAWN:
        return order
    if order.status == OrderStatus.DELIVERED:
        raise ValidationError(
            f"Order {order} is delivered; send parts back to the supplier instead."
        )
    if order.is_coming:
        rest = F("packs") * F("pack") - F("pieces_delivered")
        order.lines.coming().update(pieces_withdrawn=rest)
    part_delivered = order.status == OrderStatus.PART_DELIVERED
    order.status = OrderStatus.DELIVERED if part_delivered else OrderStatus.WITHDRAWN
    order.by = by
    order.save()
    return order


def cheapest_offer(
    supplier: Supplier, part: Part, *, pieces: int, day: date, pack: int | None = None
) -> Offer | None:
    """The supplier's valid offer that costs least for so many pieces."""
    valid = supplier.offers.filter(part=part).valid_on(day).with_breaks().order_by("valid_from")
    # Of several prices of one pack the one that began last holds.
    offers = {offer.pack: offer for offer in valid if pack in (None, offer.pack)}

    def cost(offer: Offer) -> tuple[int, int]:
        packs = offer.packs_for(pieces)
        return packs * offer.price_of(packs), -offer.pk

    return min(offers.values(), key=cost, default=None)


def _draft(supplier: Supplier, site: Site, by: Any) -> Order:
    """The one draft of this supplier for this site, made when there is none."""
    # The supplier's row is the lock: two people drafting at once share one order and its number.
    Supplier.objects.select_for_update().get(pk=supplier.pk)
    found = Order.objects.drafts().filter(supplier=supplier, site=site).first()
    return found or Order.objects.create(
        key=_order_number(supplier, site), supplier=supplier, site=site, by=by
    )


def _order_number(supplier: Supplier, site: Site) -> str:
    start = f"{supplier.code[:12]}-{site.today():%y%m%d}-"
    taken = Order.objects.filter(key__startswith=start).values_list("key", flat=True)
    numbers = [int(tail) for key in taken if (tail := key.removeprefix(start)).isdigit()]
    return f"{start}{max(numbers, default=0) + 1}"


def _next_line(order: Order) -> int:
    last: int | None = order.lines.aggregate(last=Max("line"))["last"]
    return (last or 0) + 1


def _locked(order: Order) -> Order:
    return (
        Order.objects.select_for_update(of=("self",))
        .select_related("supplier", "site")
        .get(pk=order.pk)
    )


def _only_draft(order: Order, what: str) -> None:
    if not order.is_draft:
        raise ValidationError(
            f"Order {order} is {order.get_status_display().lower()}; only a draft lets you {what}."
        )
