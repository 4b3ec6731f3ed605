"""Pages of what is on order and of what came. All show cost: for the parts manager and above."""

from collections.abc import Callable
from functools import partial

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.http import content_disposition_header
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from inventory.reorder.actions import orders
from inventory.reorder.forms.orders import AddPartForm, DraftForm
from inventory.reorder.models import DeliveryLine, Order, OrderLine, PlanLine, PlanRun, Supplier
from inventory.reorder.order_files import order_pdf, order_workbook
from inventory.reorder.order_paper import order_paper
from inventory.reorder.special_orders import special_order
from inventory.shop.here import site_here
from inventory.shop.models import ShopSettings
from inventory.shop.roles import Role, role_required

ORDERS_A_PAGE = 100
WRITTEN = {
    "pdf": (order_pdf, "application/pdf", "pdf"),
    "xlsx": (
        order_workbook,
        "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
        "xlsx",
    ),
}


@require_POST
@role_required(Role.PARTS_MANAGER)
def order_draft(request: HttpRequest, pk: int) -> HttpResponse:
    """Draft what the plan suggests from one supplier."""
    supplier, site = get_object_or_404(Supplier, pk=pk), site_here(request)
    run = get_object_or_404(PlanRun.objects.finished()[:1])
    lines = list(PlanLine.objects.for_reorder_list(run, site).filter(supplier=supplier))
    if not lines:
        messages.error(
            request,
            f"Nothing of this plan is left to order from {supplier}; plan again to see what "
            "is new.",
        )
        return redirect("inventory:plan_detail")
    try:
        order = orders.draft_order(lines, by=request.user)
    except ValidationError as refusal:
        messages.error(request, refusal.messages[0])
        return redirect("inventory:plan_detail")
    return redirect("inventory:order_detail", order.pk)


@require_http_methods(["GET", "HEAD", "POST"])
@role_required(Role.PARTS_MANAGER)
def order_new(request: HttpRequest, pk: int) -> HttpResponse:
    """A part on the draft by hand, without a plan that asks for it."""
    supplier, form = get_object_or_404(Supplier, pk=pk), AddPartForm(request.POST or None)
    if form.is_valid():
        site, said = site_here(request), form.cleaned_data
        line = form.submit(orders.add_to_draft, supplier, site=site, by=request.user, **said)
        if line:
            messages.success(request, f"{line.pieces} of {line.part} are on this order now.")
            return redirect("inventory:order_detail", line.order_id)
    return render(request, "inventory/order_new.html", {"form": form, "supplier": supplier})


@require_safe
@role_required(Role.PARTS_MANAGER)
def order_list(request: HttpRequest) -> HttpResponse:
    site, show = site_here(request), request.GET.get("show", "")
    found = Order.objects.filter(site=site).for_order_list().shown(show, site.today())
    page = Paginator(found, ORDERS_A_PAGE).get_page(request.GET.get("page"))
    late = Order.objects.filter(site=site).overdue(site.today()).count()
    coming = Order.objects.filter(site=site).coming().count()
    queried = DeliveryLine.objects.filter(delivery__site=site, price_queried=True).count()
    context = {"page": page, "show": show, "late": late, "coming": coming, "today": site.today()}
    context |= {"queried": queried}
    return render(request, "inventory/order_list.html", context)


def _order(pk: int) -> Order:
    return get_object_or_404(Order.objects.select_related("supplier", "site").with_totals(), pk=pk)


def _order_page(request: HttpRequest, order: Order, **forms: object) -> HttpResponse:
    lines = list(order.lines.select_related("part"))
    still_open = [line for line in lines if line.pieces_open]
    context: dict[str, object] = {"order": order, "lines": lines, "open": still_open}
    if order.is_draft:
        context |= {"draft_form": DraftForm(lines), "add_form": AddPartForm(initial={"pieces": 1})}
    context["deliveries"] = DeliveryLine.objects.that_came_with(order)
    return render(request, "inventory/order_detail.html", context | forms)


@require_safe
@role_required(Role.PARTS_MANAGER)
def order_detail(request: HttpRequest, pk: int) -> HttpResponse:
    """The page; with `?as=pdf` or `?as=xlsx` the paper that goes to the supplier."""
    order = _order(pk)
    written = WRITTEN.get(request.GET.get("as", ""))
    if written is None:
        return _order_page(request, order)
    write, kind, ending = written
    answer = HttpResponse(write(order_paper(order, ShopSettings.load())), content_type=kind)
    answer["Content-Disposition"] = content_disposition_header(
        as_attachment=True, filename=f"{order}.{ending}"
    )
    return answer


@require_POST
@role_required(Role.PARTS_MANAGER)
def order_change(request: HttpRequest, pk: int) -> HttpResponse:
    order = _order(pk)
    form = DraftForm(list(order.lines.select_related("part")), request.POST)
    changed = None
    if form.is_valid():
        changed = form.submit(orders.change_lines, order, packs=form.packs(), by=request.user)
    if changed:
        messages.success(request, "Quantities saved.")
        return redirect("inventory:order_detail", pk)
    return _order_page(request, order, draft_form=form)


@require_POST
@role_required(Role.PARTS_MANAGER)
def order_add(request: HttpRequest, pk: int) -> HttpResponse:
    order, form = _order(pk), AddPartForm(request.POST)
    line = None
    if form.is_valid():
        line = form.submit(
            orders.add_to_draft,
            order.supplier,
            site=order.site,
            by=request.user,
            **form.cleaned_data,
        )
    if line:
        messages.success(request, f"{line.pieces} of {line.part} are on this order now.")
        return redirect("inventory:order_detail", pk)
    return _order_page(request, order, add_form=form)


def _done(request: HttpRequest, pk: int, action: Callable[..., Order], words: str) -> HttpResponse:
    """Run an action that needs nothing but the order, and say what it did or why it refused."""
    try:
        order = action(_order(pk), by=request.user)
        messages.success(request, words.format(order=order))
    except ValidationError as refusal:
        messages.error(request, refusal.messages[0])
    return redirect("inventory:order_detail", pk)


@require_POST
@role_required(Role.PARTS_MANAGER)
def order_send(request: HttpRequest, pk: int) -> HttpResponse:
    """With the quantities as they stand on the page, saved or not."""
    order = _order(pk)
    form = DraftForm(list(order.lines.select_related("part")), request.POST)
    if order.is_draft and not form.is_valid():
        return _order_page(request, order, draft_form=form)
    packs = form.packs() if order.is_draft else None
    send = partial(orders.send_order, packs=packs)
    return _done(request, pk, send, "Order {order} is marked as sent.")


@require_POST
@role_required(Role.PARTS_MANAGER)
def order_withdraw(request: HttpRequest, pk: int) -> HttpResponse:
    return _done(request, pk, orders.withdraw_order, "Nothing more is expected of order {order}.")


@require_safe
@role_required(Role.PARTS_MANAGER)
def special_list(request: HttpRequest) -> HttpResponse:
    """What was ordered for jobs here: to send, on the way, here; or past."""
    site, show = site_here(request), request.GET.get("show", "")
    lines = OrderLine.objects.special(site)
    wanted = lines.exclude(pk__in=lines.unfinished()) if show == "past" else lines.unfinished()
    page = Paginator(wanted, ORDERS_A_PAGE).get_page(request.GET.get("page"))
    found = [special_order(line, site.today()) for line in page]
    context = {
        "page": page,
        "show": show,
        "found": found,
        "here": sum(one.is_here for one in found),
        "late": sum(one.is_late for one in found),
    }
    return render(request, "inventory/special_list.html", context)
