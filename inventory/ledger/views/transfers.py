"""What is on the road between sites, and what was borrowed."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from inventory.ledger.actions import keep_borrowed, receive_transfer, send_back
from inventory.ledger.forms import ArrivedForm, ShelfForm
from inventory.ledger.models import Transfer, TransferQuerySet
from inventory.ledger.views.sent import refused, shelf_after, site_posted
from inventory.shop.here import site_here
from inventory.shop.models import Bin, Site


@require_safe
def transfer_list(request: HttpRequest) -> HttpResponse:
    site = site_here(request)
    with_names = Transfer.objects.for_transfer_list()
    on_the_road, to_send_back = with_names.on_the_road(), with_names.to_send_back()
    context = {
        "coming": _with_forms(on_the_road.filter(to_site=site), site),
        "leaving": on_the_road.filter(from_site=site),
        "borrowed": _with_forms(to_send_back.filter(to_site=site), site),
        "lent": to_send_back.filter(from_site=site),
    }
    return render(request, "inventory/transfer_list.html", context)


def _with_forms(transfers: TransferQuerySet, site: Site) -> list[tuple[Transfer, ShelfForm]]:
    """Each with a form of its own, whose key posts it once."""
    bins = list(Bin.objects.filter(site=site))
    return [
        (each, ArrivedForm(site=site, bins=bins, auto_id=f"transfer_{each.pk}_%s"))
        for each in transfers
    ]


def _transfer(request: HttpRequest, pk: int) -> tuple[Transfer, Site]:
    site = site_posted(request)
    return get_object_or_404(Transfer.objects.for_transfer_list(), pk=pk, to_site=site), site


@require_POST
def transfer_receive(request: HttpRequest, pk: int) -> HttpResponse:
    transfer, site = _transfer(request, pk)
    form = ArrivedForm(request.POST, site=site, bins=list(Bin.objects.filter(site=site)))
    if form.is_valid():
        done = form.submit(
            receive_transfer,
            transfer,
            by=request.user,
            key=form.cleaned_data["key"],
            bin=form.bin_said(),
            lost=form.cleaned_data["lost"] or 0,
        )
        if done and done.received:
            return shelf_after(transfer.part, done.received)
    return refused(request, form, "inventory:transfer_list")


@require_POST
def transfer_send_back(request: HttpRequest, pk: int) -> HttpResponse:
    transfer, site = _transfer(request, pk)
    form = ShelfForm(request.POST, site=site)
    if form.is_valid():
        back = form.submit(send_back, transfer, by=request.user, key=form.cleaned_data["key"])
        if back:
            return shelf_after(transfer.part, back.sent)
    return refused(request, form, "inventory:transfer_list")


@require_POST
def transfer_keep(request: HttpRequest, pk: int) -> HttpResponse:
    transfer, site = _transfer(request, pk)
    form = ShelfForm(request.POST, site=site)
    kept = form.submit(keep_borrowed, transfer) if form.is_valid() else None
    if kept:
        messages.success(request, f"{transfer.pieces} of {transfer.part} stay at {site}.")
        return redirect("inventory:transfer_list")
    return refused(request, form, "inventory:transfer_list")
