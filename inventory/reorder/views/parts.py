"""A part added, changed and listed on vehicles by hand."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from inventory.catalog.actions.fitments import list_part
from inventory.catalog.actions.parts import add_part, change_part, codes_of
from inventory.catalog.models import Fitment, Part
from inventory.reorder.forms.parts import FitsForm, NewPartForm, PartForm
from inventory.shop.models import ShopSettings
from inventory.shop.roles import Role, role_required


@require_http_methods(["GET", "HEAD", "POST"])
@role_required(Role.PARTS_MANAGER)
def part_new(request: HttpRequest) -> HttpResponse:
    named = {"number": request.GET.get("number", "")[:40]}
    form = NewPartForm(request.POST or None, part=Part(), shop=ShopSettings.load(), initial=named)
    if form.is_valid():
        fits = form.cleaned_data["fits"]
        part = form.submit(add_part, form.facts(), codes=form.codes(), on=fits, by=request.user)
        if part:
            messages.success(request, f"{part} is listed. Put what you have of it on the shelf.")
            return redirect("inventory:part_detail", part.pk)
    return render(request, "inventory/part_new.html", {"form": form})


@require_http_methods(["GET", "HEAD", "POST"])
@role_required(Role.PARTS_MANAGER)
def part_change(request: HttpRequest, pk: int) -> HttpResponse:
    part = get_object_or_404(Part, pk=pk)
    known = {f"code_{kind}": ", ".join(codes) for kind, codes in codes_of(part).items()}
    form = PartForm(request.POST or None, part=part, shop=ShopSettings.load(), initial=known)
    if form.is_valid():
        if form.submit(change_part, part, form.facts(), codes=form.codes(), by=request.user):
            messages.success(request, f"{part} is saved.")
            return redirect("inventory:part_detail", pk)
        part.refresh_from_db()
    return render(request, "inventory/part_change.html", {"part": part, "form": form})


@require_http_methods(["GET", "HEAD", "POST"])
@role_required(Role.PARTS_MANAGER)
def part_fits(request: HttpRequest, pk: int) -> HttpResponse:
    part = get_object_or_404(Part, pk=pk)
    form = FitsForm(request.POST or None)
    if form.is_valid():
        said = dict(form.cleaned_data)
        application = said.pop("application")
        if form.submit(list_part, application, part, by=request.user, **said):
            messages.success(request, f"{part} is offered for {application}.")
            return redirect("inventory:part_fits", pk)
    listed = Fitment.objects.filter(part=part).select_related("application")
    context = {"part": part, "form": form, "listed": listed.order_by("application", "axle")}
    return render(request, "inventory/part_fits.html", context)
