"""A plan line's page: why this many, and the part's own goal, set and taken back.

A part that no plan has looked at yet is given its goal on a page of its own.
"""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from inventory.catalog.models import Part
from inventory.reorder.actions.goals import set_goal, take_back_goals
from inventory.reorder.forms.goals import GoalForm
from inventory.reorder.models import PartGoal, PlanLine
from inventory.reorder.why import why
from inventory.shop.amounts import count_text
from inventory.shop.here import site_here
from inventory.shop.models import ShopSettings, Site
from inventory.shop.roles import Role, role_required

NEXT_PLAN = "The next plan counts with it."


@require_safe
@role_required(Role.PARTS_MANAGER)
def plan_why(request: HttpRequest, pk: int) -> HttpResponse:
    line = _line(pk)
    if not request.headers.get("HX-Request"):
        return _page(request, line, None)
    told = None if "close" in request.GET else why(line, ShopSettings.load())
    return render(request, "inventory/_plan_line.html", {"line": line, "why": told})


def _line(pk: int) -> PlanLine:
    lines = PlanLine.objects.select_related("part", "site", "supplier", "run")
    return get_object_or_404(lines, pk=pk)


def _page(request: HttpRequest, line: PlanLine, refused: GoalForm | None) -> HttpResponse:
    goals = list(PartGoal.objects.filter(part=line.part).select_related("by", "site"))
    here = next((goal for goal in goals if goal.site_id == line.site_id), None)
    context = {
        "line": line,
        "why": why(line, ShopSettings.load()),
        "goal": here,
        "goals_elsewhere": [goal for goal in goals if goal is not here],
        "form": refused or GoalForm(here, list(Site.objects.selling())),
    }
    return render(request, "inventory/plan_why.html", context)


@require_POST
@role_required(Role.PARTS_MANAGER)
def plan_goal_set(request: HttpRequest, pk: int) -> HttpResponse:
    line = _line(pk)
    form = GoalForm(None, list(Site.objects.selling()), request.POST)
    if _set(request, form, line.part, line.site):
        return redirect("inventory:plan_why", pk)
    return _page(request, line, form)


def _set(request: HttpRequest, form: GoalForm, part: Part, here: Site) -> bool:
    if not form.is_valid():
        return False
    sites = list(Site.objects.selling()) if form.cleaned_data.get("everywhere") else [here]
    goals = form.submit(set_goal, part, sites=sites, by=request.user, **form.chosen())
    if goals is None:
        return False
    where = here if len(goals) == 1 else count_text(len(goals), "site")
    messages.success(request, f"{part}: {goals[0]} at {where}. {NEXT_PLAN}")
    return True


@require_http_methods(["GET", "HEAD", "POST"])
@role_required(Role.PARTS_MANAGER)
def part_goal(request: HttpRequest, pk: int) -> HttpResponse:
    part, site = get_object_or_404(Part, pk=pk), site_here(request)
    had = PartGoal.objects.filter(part=part, site=site).first()
    form = GoalForm(had, list(Site.objects.selling()), request.POST or None)
    if _set(request, form, part, site):
        return redirect("inventory:part_detail", pk)
    return render(request, "inventory/part_goal.html", {"part": part, "goal": had, "form": form})


@require_POST
@role_required(Role.PARTS_MANAGER)
def plan_goal_end(request: HttpRequest, pk: int) -> HttpResponse:
    line = _line(pk)
    sites = Site.objects.all() if "everywhere" in request.POST else [line.site]
    if take_back_goals(line.part, sites=sites, by=request.user):
        messages.success(request, f"{line.part} has no goal of its own any more. {NEXT_PLAN}")
    return redirect("inventory:plan_why", pk)
