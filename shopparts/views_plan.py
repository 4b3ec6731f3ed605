"""Planning at a click: a worker does it, and its page says how far it is."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST

from inventory.shop.roles import Role, role_required
from shopparts.forms import RunForm
from shopparts.runs.actions import ask_for
from shopparts.runs.models import RunKind


@require_POST
@role_required(Role.PARTS_MANAGER)
def plan_again(request: HttpRequest) -> HttpResponse:
    form = RunForm(request.POST)
    if not form.is_valid():
        messages.error(request, "This page was out of date; ask once more.")
        return redirect("inventory:plan_detail")
    run = ask_for(RunKind.PLAN, key=form.cleaned_data["key"], by=request.user)
    return redirect("run_detail", run.pk)
