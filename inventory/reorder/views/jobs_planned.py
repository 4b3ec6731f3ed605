"""Pages of the plan that look at more than one part at a time: whole jobs, assemblies."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from inventory.reorder.job_waits import job_waits
from inventory.reorder.kept_whole import assemblies_kept
from inventory.reorder.models import PlanRun
from inventory.shop.here import site_here
from inventory.shop.roles import Role, role_required


@require_safe
@role_required(Role.PARTS_MANAGER)
def plan_jobs(request: HttpRequest) -> HttpResponse:
    """Whether everything a job needs is there, and which parts jobs wait for."""
    run, site = PlanRun.objects.finished().first(), site_here(request)
    found = job_waits(run, site) if run else None
    return render(request, "inventory/plan_jobs.html", {"run": run, "jobs": found})


@require_safe
@role_required(Role.PARTS_MANAGER)
def plan_assemblies(request: HttpRequest) -> HttpResponse:
    """Assemblies kept whole, or as body and stem."""
    kept = assemblies_kept(site_here(request))
    return render(request, "inventory/plan_assemblies.html", {"kept": kept})
