"""Pages of suppliers: their terms and offers, how long they took, what can go back to them."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from inventory.action_form import new_key
from inventory.ledger.actions import return_to_supplier
from inventory.reorder.actions.prices import offer_part
from inventory.reorder.forms.suppliers import OfferForm, SendBackForm, SupplierForm
from inventory.reorder.models import Supplier
from inventory.reorder.supplier_page import waits_chart, waits_seen, what_goes_back
from inventory.shop.here import site_here
from inventory.shop.models import ShopSettings
from inventory.shop.roles import Role, role_required

OFFERS_A_PAGE = 25


@require_safe
@role_required(Role.PARTS_MANAGER)
def supplier_list(request: HttpRequest) -> HttpResponse:
    suppliers = Supplier.objects.for_supplier_list()
    return render(request, "inventory/supplier_list.html", {"suppliers": suppliers})


@require_safe
@role_required(Role.PARTS_MANAGER)
def supplier_detail(request: HttpRequest, pk: int) -> HttpResponse:
    return _supplier_page(request, get_object_or_404(Supplier, pk=pk), None)


def _supplier_page(
    request: HttpRequest, supplier: Supplier, form: SendBackForm | None
) -> HttpResponse:
    site = site_here(request)
    offers = supplier.offers.from_now_on(site.today()).select_related("part").with_breaks()
    waits, going_back = waits_seen(supplier), what_goes_back(supplier, site)
    context = {
        "supplier": supplier,
        "page": Paginator(offers.order_by("part__number", "valid_from"), OFFERS_A_PAGE).get_page(
            request.GET.get("page")
        ),
        "today": site.today(),
        "waits": waits,
        "half_within": waits[len(waits) // 2] if waits else None,
        "chart": waits_chart(waits) if waits else None,
        "going_back": [(one, new_key()) for one in going_back],
        "apart": sum(one.until is None for one in going_back),
        "form": form,
    }
    return render(request, "inventory/supplier_detail.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@role_required(Role.PARTS_MANAGER)
def supplier_new(request: HttpRequest) -> HttpResponse:
    form = SupplierForm(ShopSettings.load(), request.POST or None)
    if form.is_valid():
        return redirect("inventory:supplier_detail", form.save().pk)
    return render(request, "inventory/supplier_new.html", {"form": form})


@require_http_methods(["GET", "HEAD", "POST"])
@role_required(Role.PARTS_MANAGER)
def supplier_change(request: HttpRequest, pk: int) -> HttpResponse:
    supplier = get_object_or_404(Supplier, pk=pk)
    form = SupplierForm(ShopSettings.load(), request.POST or None, instance=supplier)
    if form.is_valid():
        form.save()
        messages.success(request, f"The terms of {supplier} are saved.")
        return redirect("inventory:supplier_detail", pk)
    return render(request, "inventory/supplier_change.html", {"form": form, "supplier": supplier})


@require_http_methods(["GET", "HEAD", "POST"])
@role_required(Role.PARTS_MANAGER)
def offer_new(request: HttpRequest, pk: int) -> HttpResponse:
    supplier = get_object_or_404(Supplier, pk=pk)
    given = {"part": request.GET.get("part", "")[:60], "valid_from": site_here(request).today()}
    form = OfferForm(ShopSettings.load(), request.POST or None, initial=given)
    if form.is_valid():
        day = form.cleaned_data["valid_from"]
        offer = form.submit(
            offer_part, supplier, form.price(), valid_from=day, terms=form.terms(), by=request.user
        )
        if offer:
            messages.success(request, f"{supplier} offers {offer.part}. Write the next, or leave.")
            return redirect("inventory:offer_new", pk)
    return render(request, "inventory/offer_new.html", {"form": form, "supplier": supplier})


@require_POST
@role_required(Role.PARTS_MANAGER)
def supplier_send_back(request: HttpRequest, pk: int) -> HttpResponse:
    """Send pieces of a lot back: they leave the shelf with what they cost."""
    supplier, posting = get_object_or_404(Supplier, pk=pk), None
    form = SendBackForm(supplier, request.POST)
    if form.is_valid():
        lot = form.cleaned_data["lot"]
        posting = form.submit(
            return_to_supplier,
            lot,
            pieces=form.cleaned_data["pieces"],
            by=request.user,
            key=form.cleaned_data["key"],
            words=f"Back to {supplier}",
        )
    if posting:
        messages.success(request, f"{lot.shelf.part} is off the shelf, on its way to {supplier}.")
        return redirect("inventory:supplier_detail", pk)
    return _supplier_page(request, supplier, form)
