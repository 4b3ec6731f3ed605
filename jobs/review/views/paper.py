"""What leaves the shop on paper: a page without the frame of the site, black on white."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from jobs.review.advised import advised
from jobs.review.options import customer_options
from jobs.review.siblings import siblings_advised
from jobs.workshop.models import Job


@require_safe
def job_options(request: HttpRequest, pk: int) -> HttpResponse:
    """What the customer may choose, what it costs today and what it leaves at risk."""
    job = get_object_or_404(Job.objects.for_list(), pk=pk)
    found = advised(job)
    options = customer_options(job, found, siblings_advised(found))
    years = [one.case.asked.years_to_tire_change for one in found.wheels]
    context = {
        "job": job,
        "options": options,
        "unread": [one.case.now.where for one in found.wheels if one.waits],
        "dead": any(one.case.asked.findings.is_dead for one in found.wheels),
        "years": round(sum(years) / len(years)) if years else None,
        "lines": job.lines.select_related("part"),
    }
    return render(request, "jobs/job_options.html", context)
