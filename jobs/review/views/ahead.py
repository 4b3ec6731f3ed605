"""What is ahead, as the vehicles tell it: waves to come, and the range of sensors to keep."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from inventory.reorder.range_kept import range_kept
from inventory.shop.here import site_here
from inventory.shop.roles import Role, role_required
from jobs.review.inputs.vehicles_here import vehicles_by_application
from jobs.review.range_form import RangeForm
from jobs.review.waves import waves


@require_safe
@role_required(Role.PARTS_MANAGER)
def wave_list(request: HttpRequest) -> HttpResponse:
    return render(request, "jobs/wave_list.html", {"waves": waves(site_here(request).today())})


@require_safe
@role_required(Role.PARTS_MANAGER)
def part_range(request: HttpRequest) -> HttpResponse:
    """The smallest set of sensors for a share of the vehicles seen here."""
    site = site_here(request)
    form = RangeForm(request.GET or None)
    seen = vehicles_by_application(site, today=site.today())
    found = range_kept(seen, share=form.share, site=site, today=site.today())
    context = {"form": form, "range": found, "vehicles": sum(seen.values())}
    return render(request, "jobs/part_range.html", context)
