"""What a supplier brought: put on the shelf, counted against the order, held for its jobs.

The shelf itself is written by the ledger's actions alone. One key receives once: the same delivery
posted again gives the first one back.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import F
from django.utils import timezone

from inventory.catalog.models import Counted, Part
from inventory.ledger.actions import (
    Occasion,
    hold_parts,
    lock_shelves,
    mark_arrived,
    receive_stock,
    release_hold,
    revalue_stock,
    undo_posting,
)
from inventory.ledger.models import Condition, Hold, Posting
from inventory.reorder.actions.prices import NewPrice, accept_prices
from inventory.reorder.models import (
    Delivery,
    DeliveryLine,
    Order,
    OrderLine,
    OrderStatus,
    Supplier,
)
from inventory.shop.models import Site


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrived:
    """One line of a delivery: against an order line, or of a part that was not ordered.

    `pack_price_cents` differs from the order's where the supplier charges another price;
    `value_cents` is for what was not ordered. `rest_withdrawn`: nothing more of the line comes.
    `goes_back`: it lies apart until it is sent back, and is never sold.
    """

    part: Part
    pieces: int
    order_line: OrderLine | None = None
    pack_price_cents: int | None = None
    value_cents: int | None = None
    rest_withdrawn: bool = False
    goes_back: bool = False
    made_on: date | None = None
    maker_code: str = ""


def pieces_value(*, pack: int, pack_price_cents: int, before: int, pieces: int) -> int:
    """Cents of some pieces of a line of which `before` have come: all shares sum to the price."""

    def up_to(count: int) -> int:
        return (2 * count * pack_price_cents + pack) // (2 * pack)

    return up_to(before + pieces) - up_to(before)


@transaction.atomic
def receive_delivery(
    supplier: Supplier,
    *,
    site: Site,
    key: str,
    lines: Sequence[Arrived],
    by: Any,
    note_number: str = "",
    at: datetime | None = None,
    keep_more: bool = False,
    query_price: bool = False,
    new_prices: bool = False,
) -> Delivery:
    """Receive a delivery once per key, with what came short, over or wrong.

    More than is still to come is refused unless `keep_more`: the same box counted by two people
    is likelier than a gift. A price that differs is taken as it is, and queried when asked so,
    or with `new_prices` is what the supplier offers from today on.
    """
    delivery, made = Delivery.objects.get_or_create(
        key=key,
        defaults={
            "supplier": supplier,
            "site": site,
            "note_number": note_number,
            "at": at or timezone.now(),
            "by": by,
        },
    )
    if not made:
        return delivery
    if not lines:
        raise ValidationError("Nothing was counted; give the pieces of at least one line.")
    ordered = _locked_lines(supplier, site, lines)
    if not keep_more:
        _refuse_more(lines, ordered)
    # Shelves are locked in the order of their parts, as every posting does.
    for number, arrived in enumerate(sorted(lines, key=lambda line: line.part.pk), start=1):
        _receive_line(delivery, number, arrived, ordered, query_price)
    _settle_orders({line.order_id for line in ordered.values()})
    if new_prices:
        differing = _new_prices(lines, ordered)
        accept_prices(supplier, differing, valid_from=site.today(), by=by)
    return delivery


def _new_prices(lines: Sequence[Arrived], ordered: dict[int, OrderLine]) -> list[NewPrice]:
    """The prices that were not those of the order; the same one said twice is one."""
    found: dict[NewPrice, None] = {}
    for arrived in lines:
        line = arrived.order_line and ordered[arrived.order_line.pk]
        cents = arrived.pack_price_cents
        if line and cents is not None and cents != line.pack_price_cents:
            found[NewPrice(part=line.part, pack_price_cents=cents, pack=line.pack)] = None
    return list(found)


def _locked_lines(supplier: Supplier, site: Site, lines: Sequence[Arrived]) -> dict[int, OrderLine]:
    """The order lines as they stand now, by primary key, with their orders locked."""
    pks = [arrived.order_line.pk for arrived in lines if arrived.order_line]
    # The orders are the locks of their lines, taken in one order by everyone.
    named = OrderLine.objects.filter(pk__in=pks).values("order")
    for order in Order.objects.select_for_update().filter(pk__in=named).order_by("pk"):
        _refuse_order(order, supplier, site)
    found = OrderLine.objects.filter(pk__in=pks).select_related("part", "order")
    return {line.pk: line for line in found}


def _refuse_order(order: Order, supplier: Supplier, site: Site) -> None:
    if order.supplier_id != supplier.pk or order.site_id != site.pk:
        raise ValidationError(
            f"Order {order} is not one of {supplier} for {site}; receive it on its own page."
        )
    if order.is_draft:
        raise ValidationError(f"Order {order} is a draft; mark it as sent, then receive it.")
    if order.status == OrderStatus.WITHDRAWN:
        raise ValidationError(
            f"Order {order} was withdrawn; receive what came as parts that were not ordered."
        )


def _refuse_more(lines: Sequence[Arrived], ordered: dict[int, OrderLine]) -> None:
    came: Counter[int] = Counter()
    for arrived in lines:
        if arrived.order_line:
            came[arrived.order_line.pk] += arrived.pieces
    for pk, pieces in came.items():
        line = ordered[pk]
        if pieces > line.pieces_open:
            raise ValidationError(
                f"Only {line.pieces_open} of {line.part} are still to come on order {line.order}, "
                f"and {pieces} were counted; count again, or keep what came beyond the order."
            )


def _receive_line(
    delivery: Delivery,
    number: int,
    arrived: Arrived,
    ordered: dict[int, OrderLine],
    query_price: bool,
) -> None:
    line = ordered[arrived.order_line.pk] if arrived.order_line else None
    if arrived.pieces:
        cents = _value(arrived, line)
        differs = line is not None and arrived.pack_price_cents not in (
            None,
            line.pack_price_cents,
        )
        DeliveryLine.objects.create(
            delivery=delivery,
            line=number,
            order_line=line,
            part=arrived.part,
            pieces=arrived.pieces,
            value_cents=cents,
            price_queried=query_price and differs,
            posting=_put_on_shelf(delivery, number, arrived, cents),
        )
    if line is not None:
        line.pieces_delivered += arrived.pieces
        if arrived.rest_withdrawn:
            line.pieces_withdrawn += line.pieces_open
        line.save(update_fields=["pieces_delivered", "pieces_withdrawn"])
        if line.job_key and arrived.pieces:
            _hold_for_job(delivery, number, line, arrived.pieces)


def _value(arrived: Arrived, line: OrderLine | None) -> int:
    if arrived.value_cents is not None:
        return arrived.value_cents
    price = arrived.pack_price_cents
    if price is None and line is not None:
        price = line.pack_price_cents
    if price is None:
        raise ValidationError(
            f"No price is known for {arrived.part}; give the price of a pack, 0 if it is free."
        )
    return pieces_value(
        pack=line.pack if line else 1,
        pack_price_cents=price,
        before=line.pieces_delivered if line else 0,
        pieces=arrived.pieces,
    )


def _put_on_shelf(delivery: Delivery, number: int, arrived: Arrived, cents: int) -> Posting | None:
    """What is not counted has no shelf: its money is in the delivery line alone."""
    if arrived.part.counted == Counted.NOT:
        return None
    return receive_stock(
        arrived.part,
        site=delivery.site,
        pieces=arrived.pieces,
        value_cents=cents,
        by=delivery.by,
        key=_key(delivery, number),
        came_from=f"{delivery.supplier} {delivery.note_number}".strip()[:80],
        condition=Condition.DECIDE if arrived.goes_back else Condition.SEALED,
        made_on=arrived.made_on,
        maker_code=arrived.maker_code,
        at=delivery.at,
        occasion=Occasion(words=f"Delivery {delivery.key}", on=delivery.site.day_of(delivery.at)),
    )


def _hold_for_job(delivery: Delivery, number: int, line: OrderLine, pieces: int) -> None:
    if line.part.counted == Counted.NOT:
        return
    hold = hold_parts(
        line.part,
        site=delivery.site,
        pieces=pieces,
        job_key=line.job_key,
        by=delivery.by,
        key=_key(delivery, number),
    )
    mark_arrived(hold, at=delivery.at)


def _key(delivery: Delivery, number: int) -> str:
    return f"delivery/{delivery.key}/{number}"


def _settle_orders(orders: set[int]) -> None:
    for order in Order.objects.filter(pk__in=orders).prefetch_related("lines"):
        lines = order.lines.all()
        came = any(line.pieces_delivered for line in lines)
        if any(line.pieces_open for line in lines):
            order.status = OrderStatus.PART_DELIVERED if came else OrderStatus.SENT
        else:
            order.status = OrderStatus.DELIVERED if came else OrderStatus.WITHDRAWN
        order.save(update_fields=["status"])


@transaction.atomic
def take_back_delivery(delivery: Delivery, *, by: Any) -> Delivery:
    """As if it had not come: off the shelf, its holds ended, its lines still to come again.

    Refused while pieces of it have moved on. The delivery itself stays, without lines, so that
    its key receives nothing a second time.
    """
    delivery = Delivery.objects.select_for_update(of=("self",)).get(pk=delivery.pk)
    lines = delivery.lines.select_related("part", "posting", "order_line__order").order_by("part")
    orders = {line.order_line.order_id for line in lines if line.order_line}
    # Orders before shelves, as receiving takes them.
    list(Order.objects.select_for_update().filter(pk__in=orders).order_by("pk"))
    lock_shelves((line.part_id, delivery.site_id) for line in lines if line.posting_id)
    for line in lines:
        _take_back(delivery, line, by)
    delivery.lines.all().delete()
    _settle_orders(orders)
    return delivery


def _take_back(delivery: Delivery, line: DeliveryLine, by: Any) -> None:
    key = _key(delivery, line.line)
    for hold in Hold.objects.filter(key=key):
        release_hold(hold, words="Delivery taken back")
    if line.posting is not None and not Posting.objects.filter(undoes=line.posting).exists():
        undo_posting(line.posting, by=by, key=f"{key}/undo")
    if line.order_line is not None:
        OrderLine.objects.filter(pk=line.order_line.pk).update(
            pieces_delivered=F("pieces_delivered") - line.pieces
        )


@transaction.atomic
def settle_price(
    line: DeliveryLine, *, value_cents: int, was_cents: int, by: Any, key: str
) -> DeliveryLine:
    """Write down what a line really cost; a difference revalues the stock it brought.

    `was_cents` is the value the person saw: two who correct one line do not overwrite each other.
    """
    line = DeliveryLine.objects.select_for_update(of=("self",)).get(pk=line.pk)
    if line.value_cents not in (was_cents, value_cents):
        raise ValidationError(
            f"The price of {line.part} on delivery {line.delivery} was corrected meanwhile; "
            "look at it again, then correct it."
        )
    if value_cents != line.value_cents and line.posting is not None:
        received = line.posting.movements.get(pieces__gt=0)
        revalue_stock(received, value_cents=value_cents, by=by, key=key)
    line.value_cents, line.price_queried = value_cents, False
    line.save(update_fields=["value_cents", "price_queried"])
    return line
