"""Pages of price lists: upload, match the columns, see what changes, accept."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from inventory.reorder.actions import price_lists
from inventory.reorder.actions.orders import add_to_draft
from inventory.reorder.actions.prices import PriceChange, price_changes
from inventory.reorder.forms.price_lists import ColumnsForm, PriceFileForm
from inventory.reorder.models import PriceList, Supplier
from inventory.reorder.price_match import read_prices
from inventory.reorder.rises import rises_ahead
from inventory.shop.here import site_here
from inventory.shop.models import ShopSettings
from inventory.shop.roles import Role, role_required

CHANGES_A_PAGE = 100
ROWS_SHOWN = 5
LEFT_OUT_SHOWN = 20


@require_http_methods(["GET", "HEAD", "POST"])
@role_required(Role.PARTS_MANAGER)
def price_list_new(request: HttpRequest, pk: int) -> HttpResponse:
    """Upload the list of one supplier."""
    supplier = get_object_or_404(Supplier, pk=pk)
    form = PriceFileForm(request.POST or None, request.FILES or None)
    listed = None
    if form.is_valid():
        listed = form.submit(
            price_lists.upload_prices,
            supplier,
            key=form.cleaned_data["key"],
            file_name=form.file_name,
            table=form.cleaned_data["file"],
            by=request.user,
        )
    if listed:
        return redirect("inventory:price_list_match", listed.pk)
    past = supplier.price_lists.accepted().defer("rows")[:LEFT_OUT_SHOWN]
    context = {"supplier": supplier, "form": form, "past": past}
    return render(request, "inventory/price_list_new.html", context)


def _listed(pk: int) -> PriceList:
    return get_object_or_404(PriceList.objects.select_related("supplier"), pk=pk)


@require_http_methods(["GET", "HEAD", "POST"])
@role_required(Role.PARTS_MANAGER)
def price_list_match(request: HttpRequest, pk: int) -> HttpResponse:
    """Say what the columns mean; the answer is remembered for this supplier's next list."""
    listed = _listed(pk)
    form, matched = ColumnsForm(listed, request.POST or None), None
    if form.is_valid():
        matched = form.submit(
            price_lists.match_columns,
            listed,
            columns=form.columns(),
            valid_from=form.cleaned_data["valid_from"],
            by=request.user,
        )
    if matched:
        return redirect("inventory:price_list_detail", pk)
    context = {"listed": listed, "form": form, "rows": listed.rows[:ROWS_SHOWN]}
    return render(request, "inventory/price_list_match.html", context)


@require_safe
@role_required(Role.PARTS_MANAGER)
def price_list_detail(request: HttpRequest, pk: int) -> HttpResponse:
    """What the list would change, before it is accepted."""
    listed = _listed(pk)
    if listed.valid_from is None:
        return redirect("inventory:price_list_match", pk)
    shop = ShopSettings.load()
    context: dict[str, object] = {"listed": listed, "shop": shop}
    if listed.accepted_at is None:
        read = read_prices(listed, shop)
        changes = price_changes(listed.supplier, read.prices, valid_from=listed.valid_from)
        changes.sort(key=_largest_first)
        context |= _counts(changes) | {
            "read": read,
            "page": Paginator(changes, CHANGES_A_PAGE).get_page(request.GET.get("page")),
            "unchanged": len(read.prices) - len(changes),
            "faults": read.faults[:LEFT_OUT_SHOWN],
            "unknown": read.unknown[:LEFT_OUT_SHOWN],
        }
    return render(request, "inventory/price_list_detail.html", context)


def _largest_first(change: PriceChange) -> tuple[float, str]:
    return -abs(change.rise_share or 0), change.new.part.number


def _counts(changes: list[PriceChange]) -> dict[str, object]:
    shares = [change.rise_share for change in changes if change.before]
    return {
        "rises": sum((share or 0) > 0 for share in shares),
        "falls": sum((share or 0) < 0 for share in shares),
        "new": len(changes) - len(shares),
    }


@require_POST
@role_required(Role.PARTS_MANAGER)
def price_list_accept(request: HttpRequest, pk: int) -> HttpResponse:
    listed = _listed(pk)
    try:
        accepted = price_lists.accept_list(listed, by=request.user)
        messages.success(request, f"{accepted.words}.")
    except ValidationError as refusal:
        messages.error(request, refusal.messages[0])
    return redirect("inventory:price_list_detail", pk)


@require_safe
@role_required(Role.PARTS_MANAGER)
def rise_list(request: HttpRequest) -> HttpResponse:
    """What to order before a price rises, and why."""
    site, shop = site_here(request), ShopSettings.load()
    rises = rises_ahead(site, shop)
    worth = [rise for rise in rises if rise.pieces]
    context = {
        "shop": shop,
        "rises": rises,
        "worth": worth,
        "saving_cents": sum(rise.saving_cents for rise in worth),
        "first": min((rise.offer.valid_from for rise in worth), default=None),
        "suppliers": {rise.before.supplier_id: rise.line.supplier for rise in worth}.values(),
    }
    return render(request, "inventory/rise_list.html", context)


@require_POST
@role_required(Role.PARTS_MANAGER)
def rise_order(request: HttpRequest, pk: int) -> HttpResponse:
    """Put what is worth buying ahead on the draft of one supplier."""
    supplier, site = get_object_or_404(Supplier, pk=pk), site_here(request)
    rises = rises_ahead(site, ShopSettings.load())
    worth = [rise for rise in rises if rise.pieces and rise.before.supplier_id == supplier.pk]
    if not worth:
        messages.error(request, f"Nothing of {supplier} is worth buying ahead; plan again first.")
        return redirect("inventory:rise_list")
    with transaction.atomic():
        for rise in worth:
            line = add_to_draft(
                supplier, site=site, part=rise.line.part, pieces=rise.pieces, by=request.user
            )
    return redirect("inventory:order_detail", line.order_id)
