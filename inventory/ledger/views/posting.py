"""The rarer postings, each with a page of its own: back, away, elsewhere, apart, together."""

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from inventory.action_form import PostingForm
from inventory.catalog.models import MadeOf, Part, PartKind
from inventory.ledger.actions import (
    Occasion,
    hold_parts,
    move_stock,
    put_together,
    return_stock,
    scrap_stock,
    send_transfer,
    take_apart,
)
from inventory.ledger.forms import (
    HoldForm,
    MoveForm,
    PutTogetherForm,
    ReturnForm,
    ScrapForm,
    SendForm,
    TakeApartForm,
)
from inventory.ledger.models import Borrowed, Condition, Posting, Shelf
from inventory.ledger.views.sent import shelf_after, site_of_form
from inventory.shop.models import ShopSettings, Site

form_page = require_http_methods(["GET", "HEAD", "POST"])


def _page(
    request: HttpRequest,
    part: Part,
    name: str,
    form: PostingForm,
    act: Callable[[], Posting],
    **context: Any,
) -> HttpResponse:
    """The form; once it is sent and accepted, the shelf with what came of it."""
    if form.is_bound and form.is_valid() and (posting := form.submit(act)):
        return shelf_after(part, posting)
    return render(request, f"inventory/{name}.html", {"part": part, "form": form} | context)


@form_page
def part_return(request: HttpRequest, pk: int) -> HttpResponse:
    part, site = get_object_or_404(Part, pk=pk), site_of_form(request)
    form = ReturnForm(request.POST or None, part=part, site=site, shop=ShopSettings.load())

    def act() -> Posting:
        said = form.cleaned_data
        prepared = said["condition"] == Condition.PREPARED
        return return_stock(
            said["issued"],
            pieces=said["pieces"],
            by=request.user,
            key=said["key"],
            condition=Condition(said["condition"]),
            bin=said["bin"],
            prepared_for=said["issued"].posting.occasion if prepared else "",
        )

    return _page(request, part, "part_return", form, act)


@form_page
def part_scrap(request: HttpRequest, pk: int) -> HttpResponse:
    part, site = get_object_or_404(Part, pk=pk), site_of_form(request)
    form = ScrapForm(request.POST or None, part=part, site=site, shop=ShopSettings.load())

    def act() -> Posting:
        said = form.cleaned_data
        return scrap_stock(
            part,
            site=site,
            pieces=said["pieces"],
            by=request.user,
            key=said["key"],
            words=said["words"],
            lot=said["lot"],
        )

    has_cell = part.kind in {PartKind.ASSEMBLY, PartKind.BODY}
    return _page(request, part, "part_scrap", form, act, has_cell=has_cell)


@form_page
def part_move(request: HttpRequest, pk: int) -> HttpResponse:
    part, site = get_object_or_404(Part, pk=pk), site_of_form(request)
    form = MoveForm(request.POST or None, part=part, site=site, shop=ShopSettings.load())

    def act() -> Posting:
        said = form.cleaned_data
        return move_stock(
            said["lot"],
            pieces=said["pieces"],
            by=request.user,
            key=said["key"],
            bin=said["bin"],
            condition=Condition(said["condition"]) if said["condition"] else None,
            prepared_for=said["prepared_for"],
            to_site=said["to_site"],
        )

    return _page(request, part, "part_move", form, act)


@form_page
def part_send(request: HttpRequest, pk: int) -> HttpResponse:
    part, site = get_object_or_404(Part, pk=pk), site_of_form(request)
    form = SendForm(request.POST or None, site=site)

    def act() -> Posting:
        said = form.cleaned_data
        return send_transfer(
            part,
            from_site=site,
            to_site=said["to_site"],
            pieces=said["pieces"],
            by=request.user,
            key=said["key"],
            borrowed=Borrowed.SEND_BACK if said["borrowed"] else Borrowed.KEEP,
        ).sent

    return _page(request, part, "part_send", form, act)


@form_page
def part_hold(request: HttpRequest, pk: int) -> HttpResponse:
    part, site = get_object_or_404(Part, pk=pk), site_of_form(request)
    form = HoldForm(request.POST or None, site=site, shop=ShopSettings.load())
    if form.is_bound and form.is_valid():
        said = form.cleaned_data
        hold = form.submit(
            hold_parts,
            part,
            site=site,
            pieces=said["pieces"],
            job_key=said["job_key"],
            by=request.user,
            key=said["key"],
            expires_at=form.expires_at(),
            deposit_cents=form.deposit_cents(),
        )
        if hold:
            messages.success(request, f"{hold.pieces} of {part} held for {hold.job_key}.")
            return redirect("inventory:hold_list")
    return render(request, "inventory/part_hold.html", {"part": part, "form": form})


@form_page
def part_take_apart(request: HttpRequest, pk: int) -> HttpResponse:
    part, site = get_object_or_404(Part, pk=pk), site_of_form(request)
    form = TakeApartForm(request.POST or None, part=part, site=site, shop=ShopSettings.load())

    def act() -> Posting:
        said = form.cleaned_data
        return take_apart(
            part,
            site=site,
            pieces=said["pieces"],
            by=request.user,
            key=said["key"],
            used=list(said["used"]),
            bin=said["bin"],
            lot=said["lot"],
            occasion=Occasion(words=said["occasion"]),
        )

    return _page(request, part, "part_take_apart", form, act)


@form_page
def part_put_together(request: HttpRequest, pk: int) -> HttpResponse:
    part, site = get_object_or_404(Part, pk=pk), site_of_form(request)
    form = PutTogetherForm(request.POST or None, site=site, shop=ShopSettings.load())

    def act() -> Posting:
        said = form.cleaned_data
        return put_together(
            part,
            site=site,
            pieces=said["pieces"],
            by=request.user,
            key=said["key"],
            bin=said["bin"],
            occasion=Occasion(words=said["occasion"]),
        )

    return _page(request, part, "part_put_together", form, act, made_of=_to_hand(part, site))


def _to_hand(part: Part, site: Site) -> list[tuple[MadeOf, int]]:
    """What a part is made of, with how many of each piece are free here."""
    rows = MadeOf.objects.filter(whole=part).select_related("piece")
    pieces = [row.piece_id for row in rows]
    shelves = Shelf.objects.at(site).filter(part__in=pieces).with_available()
    free = {shelf.part_id: shelf.free for shelf in shelves}
    return [(row, free.get(row.piece_id, 0)) for row in rows]
