"""The shelf pages: what lies where, and issuing, receiving and counting with an undo."""

from collections.abc import Callable
from typing import Any

from django.db.models import Prefetch
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe
from django_tables2 import RequestConfig

from inventory.action_form import PostingForm
from inventory.catalog.models import Part
from inventory.catalog.names import parts_known_as
from inventory.ledger.actions import Occasion, count_stock, issue_stock, receive_stock, undo_posting
from inventory.ledger.forms import CountForm, IssueForm, ReceiveForm
from inventory.ledger.models import Lot, Movement, Posting, Shelf
from inventory.ledger.tables import SHOWN, ShelfTable
from inventory.ledger.views.sent import pk_asked, posting_to_undo, shelf_after, site_posted
from inventory.shop.here import site_here
from inventory.shop.models import ShopSettings, Site
from inventory.shop.roles import Role, holds, role_required

ROWS_A_PAGE = 50
LATEST = 20


@require_safe
def shelf_list(request: HttpRequest) -> HttpResponse:
    site, q = site_here(request), request.GET.get("q", "")[:200]
    found = parts_known_as(q) if q else []
    if len(found) == 1:
        return redirect("inventory:part_shelf", found[0].pk)
    show = request.GET.get("show", "") if request.GET.get("show") in SHOWN else ""
    lots = Lot.objects.left().select_related("bin").oldest_first()
    shelves = (
        Shelf.objects.at(site)
        .filter(SHOWN[show][1])
        .select_related("part")
        .prefetch_related(Prefetch("lots", lots, to_attr="lots_left"))
    )
    table = ShelfTable(shelves)
    RequestConfig(request, paginate={"per_page": ROWS_A_PAGE}).configure(table)
    context = {
        "q": q,
        "found": _with_shelf(found, site.pk),
        "table": table,
        "show": show,
        "shown": [(word, words) for word, (words, _) in SHOWN.items()],
    }
    return render(request, "inventory/shelf_list.html", context)


def _with_shelf(parts: list[Part], site_id: int) -> list[tuple[Part, Shelf | None]]:
    shelves = {s.part_id: s for s in Shelf.objects.filter(part__in=parts, site=site_id)}
    return [(part, shelves.get(part.pk)) for part in parts]


@require_safe
def part_shelf(request: HttpRequest, pk: int) -> HttpResponse:
    return _shelf_page(request, get_object_or_404(Part, pk=pk), {})


def _shelf_page(request: HttpRequest, part: Part, forms: dict[str, PostingForm]) -> HttpResponse:
    site, shop = site_here(request), ShopSettings.load()
    shelves = list(Shelf.objects.filter(part=part).select_related("site"))
    here = next((shelf for shelf in shelves if shelf.site_id == site.pk), None)
    movements = Movement.objects.filter(part=part, site=site)
    context: dict[str, Any] = {
        "shop": shop,
        "part": part,
        "here": here or Shelf(part=part, site=site),
        "elsewhere": [s for s in shelves if s != here and s.on_hand],
        "lots": Lot.objects.left().filter(shelf=here).select_related("bin").oldest_first()
        if here
        else [],
        "movements": movements.select_related("posting__by", "posting__undone_by", "lot").order_by(
            "-pk"
        )[:LATEST],
        "done": _done(request, part),
        "has_pieces": part.pieces.exists(),
        "undo_form": PostingForm(),
    }
    context |= {"issue": IssueForm(site=site), "count": _count_form(request, site, shop)}
    if holds(request.user, Role.PARTS_MANAGER):
        context["receive"] = ReceiveForm(site=site, shop=shop)
    return render(request, "inventory/part_shelf.html", context | forms)


def _done(request: HttpRequest, part: Part) -> Posting | None:
    """The posting this page has just made, as the address says."""
    done = pk_asked(request, "done")
    if done is None:
        return None
    postings = Posting.objects.filter(pk=done, movements__part=part).distinct()
    return postings.prefetch_related("movements__lot__bin").select_related("undone_by").first()


def _count_form(
    request: HttpRequest, site: Site, shop: ShopSettings, data: Any = None
) -> CountForm:
    sees_cost = holds(request.user, Role.PARTS_MANAGER)
    return CountForm(data, site=site, shop=shop, sees_cost=sees_cost)


def _posted(
    request: HttpRequest,
    part: Part,
    name: str,
    form: PostingForm,
    act: Callable[[], Posting | None],
) -> HttpResponse:
    """Run a valid form's action; show the page again with what came of it."""
    posting = form.submit(act) if form.is_valid() else None
    if form.errors:
        return _shelf_page(request, part, {name: form})
    if posting is not None and posting.movements.exists():
        return shelf_after(part, posting)
    return redirect(f"{reverse('inventory:part_shelf', args=[part.pk])}?agrees")


@require_POST
def part_issue(request: HttpRequest, pk: int) -> HttpResponse:
    part, site = get_object_or_404(Part, pk=pk), site_posted(request)
    form = IssueForm(request.POST, site=site)

    def act() -> Posting:
        return issue_stock(
            part,
            site=site,
            pieces=form.cleaned_data["pieces"],
            by=request.user,
            key=form.cleaned_data["key"],
            occasion=Occasion(words=form.cleaned_data["occasion"]),
        )

    return _posted(request, part, "issue", form, act)


@require_POST
@role_required(Role.PARTS_MANAGER)
def part_receive(request: HttpRequest, pk: int) -> HttpResponse:
    part, site = get_object_or_404(Part, pk=pk), site_posted(request)
    form = ReceiveForm(request.POST, site=site, shop=ShopSettings.load())

    def act() -> Posting:
        said = form.cleaned_data
        return receive_stock(
            part,
            site=site,
            pieces=said["pieces"],
            value_cents=form.cents("value") or 0,
            by=request.user,
            key=said["key"],
            bin=said["bin"],
            made_on=said["made_on"],
            maker_code=said["maker_code"],
            came_from=said["came_from"],
        )

    return _posted(request, part, "receive", form, act)


@require_POST
def part_count(request: HttpRequest, pk: int) -> HttpResponse:
    part, site = get_object_or_404(Part, pk=pk), site_posted(request)
    form = _count_form(request, site, ShopSettings.load(), request.POST)

    def act() -> Posting | None:
        said = form.cleaned_data
        return count_stock(
            part,
            site=site,
            counted=said["counted"],
            by=request.user,
            key=said["key"],
            bin=said["bin"],
            unit_cents=form.cents("unit_cost"),
        )

    return _posted(request, part, "count", form, act)


@require_POST
def posting_undo(request: HttpRequest, pk: int) -> HttpResponse:
    posting = posting_to_undo(request, pk)
    part = posting.movements.select_related("part")[0].part
    form = PostingForm(request.POST)
    return _posted(
        request,
        part,
        "undo_form",
        form,
        lambda: undo_posting(posting, by=request.user, key=form.cleaned_data["key"]),
    )
