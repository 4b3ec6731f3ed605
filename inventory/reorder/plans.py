"""Pages of the plan: what to order and why. All show cost: for the parts manager and above."""

from datetime import datetime
from zoneinfo import ZoneInfo

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from inventory.action_form import new_key
from inventory.reorder.actions.forward import draft_with_top_ups
from inventory.reorder.forms.plans import BudgetForm
from inventory.reorder.models import PlanLine, PlanRun, Supplier
from inventory.reorder.next_dollar import next_dollar
from inventory.reorder.seasons import seasons
from inventory.reorder.suggestions import reorder_list, supplier_lines
from inventory.reorder.surplus import surplus_list
from inventory.reorder.track_record import track_record
from inventory.shop.here import site_here
from inventory.shop.models import ShopSettings, Site
from inventory.shop.roles import Role, role_required

LINES_A_PAGE = 100


def _clock(site: Site) -> datetime:
    return timezone.now().astimezone(ZoneInfo(site.zone))


@require_safe
@role_required(Role.PARTS_MANAGER)
def plan_detail(request: HttpRequest) -> HttpResponse:
    site = site_here(request)
    context = {"list": reorder_list(site, now=_clock(site)), "key": new_key()}
    return render(request, "inventory/plan_detail.html", context)


@require_safe
@role_required(Role.PARTS_MANAGER)
def plan_parts(request: HttpRequest) -> HttpResponse:
    """Every part the plan looked at, in words that filter."""
    run, site = PlanRun.objects.finished().first(), site_here(request)
    show = request.GET.get("show", "")
    lines = PlanLine.objects.for_parts_list(run, site, show) if run else PlanLine.objects.none()
    page = Paginator(lines, LINES_A_PAGE).get_page(request.GET.get("page"))
    return render(request, "inventory/plan_parts.html", {"run": run, "page": page, "show": show})


@require_safe
@role_required(Role.PARTS_MANAGER)
def plan_surplus(request: HttpRequest) -> HttpResponse:
    """What lies on the shelf beyond what is needed."""
    site = site_here(request)
    found = surplus_list(site, today=site.today())
    page = Paginator(found.found, LINES_A_PAGE).get_page(request.GET.get("page"))
    return render(request, "inventory/plan_surplus.html", {"surplus": found, "page": page})


@require_safe
@role_required(Role.PARTS_MANAGER)
def plan_budget(request: HttpRequest) -> HttpResponse:
    """Where the next dollar goes, and what a budget would buy."""
    run, site, shop = PlanRun.objects.finished().first(), site_here(request), ShopSettings.load()
    form = BudgetForm(shop, request.GET or None)
    cents = form.budget_cents
    found = next_dollar(run, site, shop, budget_cents=cents) if run else None
    return render(request, "inventory/plan_budget.html", {"form": form, "money": found})


@require_safe
@role_required(Role.PARTS_MANAGER)
def plan_seasons(request: HttpRequest) -> HttpResponse:
    """How busy each week of the year is, and what is coming."""
    run = PlanRun.objects.finished().first()
    told = seasons(run, today=site_here(request).today())
    return render(request, "inventory/plan_seasons.html", {"run": run, "seasons": told})


@require_safe
@role_required(Role.PARTS_MANAGER)
def plan_record(request: HttpRequest) -> HttpResponse:
    """Had this plan run: what it would have filled and held, against what happened."""
    site = site_here(request)
    record = track_record(site, ShopSettings.load(), today=site.today())
    return render(request, "inventory/plan_record.html", {"record": record})


@require_POST
@role_required(Role.PARTS_MANAGER)
def plan_top_up(request: HttpRequest, pk: int) -> HttpResponse:
    """Draft what the plan suggests from one supplier, and what makes its freight free."""
    supplier, site = get_object_or_404(Supplier, pk=pk), site_here(request)
    group = supplier_lines(supplier, site, now=_clock(site))
    if group is None or group.top_ups is None:
        messages.error(
            request, f"Nothing can be brought forward from {supplier}; draft the order as it is."
        )
        return redirect("inventory:plan_detail")
    order = draft_with_top_ups(group.lines, group.top_ups.chosen, by=request.user)
    return redirect("inventory:order_detail", order.pk)
