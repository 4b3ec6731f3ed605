"""Pieces promised to jobs: which promise is over, who is to be called, who comes to collect."""

from datetime import timedelta

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from inventory.ledger.actions import Occasion, issue_stock, keep_hold_until, release_hold
from inventory.ledger.forms import CalledForm, CollectForm
from inventory.ledger.models import Hold
from inventory.ledger.views.sent import refused, shelf_after
from inventory.shop.amounts import day_text
from inventory.shop.here import site_here
from inventory.shop.models import ShopSettings
from inventory.shop.roles import Role, role_required

BACK = "inventory:hold_list"


@require_safe
def hold_list(request: HttpRequest) -> HttpResponse:
    now = timezone.now()
    holds = list(Hold.objects.for_hold_list(site_here(request)))
    over = [hold for hold in holds if hold.expires_at and hold.expires_at <= now]
    standing = [hold for hold in holds if hold not in over]
    arrived = [hold for hold in standing if hold.arrived_at]
    groups = [
        ("Over: call again or release", over),
        ("Arrived: call", [hold for hold in arrived if not hold.expires_at]),
        ("Arrived and called, not collected yet", [hold for hold in arrived if hold.expires_at]),
        ("Held", [hold for hold in standing if not hold.arrived_at]),
    ]
    context = {
        "count": len(holds),
        "over": len(over),
        "groups": [(title, [(h, _form(h)) for h in found]) for title, found in groups if found],
    }
    return render(request, "inventory/hold_list.html", context)


def _form(hold: Hold) -> CalledForm:
    return CalledForm(auto_id=f"hold_{hold.pk}_%s")


def _hold(pk: int) -> Hold:
    return get_object_or_404(Hold.objects.select_related("shelf__part", "shelf__site"), pk=pk)


@require_POST
def hold_call(request: HttpRequest, pk: int) -> HttpResponse:
    hold, form = _hold(pk), CalledForm(request.POST)
    if form.is_valid():
        until = timezone.now() + timedelta(days=form.cleaned_data["days"])
        if form.submit(keep_hold_until, hold, until=until):
            day = day_text(hold.shelf.site.day_of(until), ShopSettings.load())
            messages.success(request, f"{hold} until {day}.")
            return redirect(BACK)
    return refused(request, form, BACK)


@require_POST
def hold_issue(request: HttpRequest, pk: int) -> HttpResponse:
    """The customer is here: issue what was held, for the job it was held for."""
    hold, form = _hold(pk), CollectForm(request.POST)
    if form.is_valid():
        posting = form.submit(
            issue_stock,
            hold.shelf.part,
            site=hold.shelf.site,
            pieces=form.cleaned_data["pieces"],
            by=request.user,
            key=form.cleaned_data["key"],
            occasion=Occasion(words=hold.job_key),
            hold=hold,
        )
        if posting:
            return shelf_after(hold.shelf.part, posting)
    return refused(request, form, BACK)


@require_POST
@role_required(Role.PARTS_MANAGER)
def hold_release(request: HttpRequest, pk: int) -> HttpResponse:
    hold = release_hold(_hold(pk), words="Not collected")
    messages.success(request, f"Released: {hold.shelf.part} is free for others.")
    return redirect(BACK)
