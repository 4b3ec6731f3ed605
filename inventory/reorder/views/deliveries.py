"""Pages of a delivery: counting what came at the scanner, and what it really cost."""

import re
from collections.abc import Mapping, Sequence

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from inventory.catalog.actions.codes import link_code
from inventory.catalog.codes import gtin14
from inventory.catalog.models import CodeKind, Part
from inventory.reorder.actions import deliveries
from inventory.reorder.forms.deliveries import PriceForm, ReceiveForm
from inventory.reorder.forms.fields import typed_amount
from inventory.reorder.models import Delivery, DeliveryLine, Order, OrderLine
from inventory.reorder.unpacking import Counting, count_all, count_entry
from inventory.shop.models import ShopSettings
from inventory.shop.roles import Role, role_required

# Typed, or scanned from a card, instead of a code: the last entry of a delivery.
DONE = "ok"
LINE = re.compile(r"pieces_(\d{1,12})")
OTHER = re.compile(r"other_(\d{1,12})")


@require_http_methods(["GET", "HEAD", "POST"])
@role_required(Role.PARTS_MANAGER)
def order_receive(request: HttpRequest, pk: int) -> HttpResponse:
    """Count at the scanner, entry by entry, until the whole delivery is received at once."""
    order = get_object_or_404(Order.objects.select_related("supplier", "site"), pk=pk)
    shop, given = ShopSettings.load(), request.POST
    lines = _lines(order, given)
    if request.method != "POST":
        return _receive_page(request, order, ReceiveForm(lines, (), shop))
    if given.get("do") != "receive" and given.get("scan", "").strip().lower() != DONE:
        return _counted_page(request, order, lines, shop)
    form, delivery = ReceiveForm(lines, _others(given), shop, given), None
    if form.is_valid():
        delivery = form.submit(
            deliveries.receive_delivery,
            order.supplier,
            site=order.site,
            by=request.user,
            lines=form.arrived(),
            **form.how(),
        )
    if delivery:
        messages.success(request, f"Delivery {delivery} of order {order} is on the shelf.")
        return redirect("inventory:order_detail", pk)
    return _receive_page(request, order, form)


def _lines(order: Order, given: Mapping[str, str]) -> list[OrderLine]:
    """Lines that may come with this order; those the page showed stay, though received since."""
    shown = [int(match[1]) for name in given if (match := LINE.fullmatch(name))]
    if not shown:
        return list(OrderLine.objects.that_may_come_with(order))
    lines = OrderLine.objects.filter(order__supplier=order.supplier, order__site=order.site)
    found = lines.filter(pk__in=shown).select_related("part", "order")
    return sorted(found, key=lambda line: (line.order_id != order.pk, line.order_id, line.line))


def _others(given: Mapping[str, str]) -> list[Part]:
    """The parts that were not ordered and stand on the page, in the order they were scanned."""
    pks = [int(match[1]) for name in given if (match := OTHER.fullmatch(name))]
    found = Part.objects.in_bulk(pks)
    return [found[pk] for pk in pks if pk in found]


def _counted_page(
    request: HttpRequest, order: Order, lines: list[OrderLine], shop: ShopSettings
) -> HttpResponse:
    given = {name: str(value) for name, value in request.POST.items()}
    asked, scan = given.pop("do", ""), given.pop("scan", "")
    if asked == "all":
        told = count_all(given, [line for line in lines if line.order_id == order.pk])
    elif asked == "link":
        told = _linked(request, given, lines)
    else:
        told = count_entry(given, scan, lines)
    others = _others(told.fields)
    return _receive_page(
        request, order, ReceiveForm(lines, others, shop, initial=told.fields), told
    )


def _linked(request: HttpRequest, given: dict[str, str], lines: list[OrderLine]) -> Counting:
    """Know a part of the delivery by the code that was scanned, and count it."""
    code, pk = given.pop("unknown", ""), given.pop("same_as", "")
    line = next((line for line in lines if str(line.pk) == pk), None)
    if line is None:
        words = f"Choose the part that has the code “{code}”, then link it."
        return Counting(fields=given, words=words, sound=False, unknown=code)
    kind = CodeKind.GTIN if gtin14(code) else CodeKind.SUPPLIER
    try:
        link_code(line.part, code=code, kind=kind, by=request.user)
    except ValidationError as refusal:
        return Counting(fields=given, words=refusal.messages[0], sound=False)
    return count_entry(given, code, lines)


def _receive_page(
    request: HttpRequest, order: Order, form: ReceiveForm, told: Counting | None = None
) -> HttpResponse:
    rows = list(form.rows())
    elsewhere = [row for row in rows if row.line.order_id != order.pk]
    context = {
        "shop": form.shop,
        "order": order,
        "form": form,
        "rows": [row for row in rows if row.line.order_id == order.pk],
        "elsewhere": elsewhere,
        "all_rows": rows,
        "elsewhere_came": any(row.counted for row in elsewhere),
        "told": told,
        "last": told.fields.get("last", "") if told else request.POST.get("last", ""),
    }
    return render(request, "inventory/order_receive.html", context)


@require_POST
@role_required(Role.PARTS_MANAGER)
def delivery_take_back(request: HttpRequest, pk: int) -> HttpResponse:
    """As if the delivery had not come: for one that was counted wrong or twice."""
    delivery = get_object_or_404(Delivery.objects.select_related("supplier", "site"), pk=pk)
    line = delivery.lines.exclude(order_line=None).select_related("order_line").first()
    try:
        deliveries.take_back_delivery(delivery, by=request.user)
        messages.success(request, f"Delivery {delivery} is taken back; nothing of it is here.")
    except ValidationError as refusal:
        messages.error(request, refusal.messages[0])
    return redirect(*_back_to(line) if line else ("inventory:order_list",))


@require_http_methods(["GET", "HEAD", "POST"])
@role_required(Role.PARTS_MANAGER)
def delivery_price(request: HttpRequest, pk: int) -> HttpResponse:
    """What a line of a delivery really cost: a price in question, or a later correction."""
    lines = DeliveryLine.objects.select_related("delivery__supplier", "part", "order_line__order")
    line, shop = get_object_or_404(lines, pk=pk), ShopSettings.load()
    start = {"value": typed_amount(line.value_cents, shop), "was": line.value_cents}
    form = PriceForm(shop, request.POST or None, initial=start)
    settled = None
    if form.is_valid():
        settled = form.submit(
            deliveries.settle_price,
            line,
            value_cents=form.cleaned_data["value"],
            was_cents=form.cleaned_data["was"],
            by=request.user,
            key=form.cleaned_data["key"],
        )
    if settled:
        messages.success(request, f"The price of {line.part} is settled.")
        return redirect(*_back_to(line))
    context = {"shop": shop, "line": line, "form": form, "ordered_cents": _as_ordered(line)}
    return render(request, "inventory/delivery_price.html", context)


def _back_to(line: DeliveryLine) -> Sequence[str]:
    order_line = line.order_line
    if order_line is None:
        return ("inventory:order_list",)
    return ("inventory:order_detail", str(order_line.order_id))


def _as_ordered(line: DeliveryLine) -> int | None:
    """What the pieces would have cost at the price of the order."""
    ordered = line.order_line
    if ordered is None or ordered.pack_price_cents is None:
        return None
    return deliveries.pieces_value(
        pack=ordered.pack, pack_price_cents=ordered.pack_price_cents, before=0, pieces=line.pieces
    )
