"""Before a vehicle leaves, and when it comes back: the re-learn walk, the comeback."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from inventory.shop.models import ShopSettings
from jobs.review.forms import ComebackForm, RelearnForm
from jobs.review.views.job_page import find_job, last_reading
from jobs.review.walk import learned_wheels, walk_of
from jobs.workshop.actions.jobs import record_comeback
from jobs.workshop.actions.relearn import record_relearn
from jobs.workshop.models import Job

EARLIER_SHOWN = 10


@require_http_methods(["GET", "HEAD", "POST"])
def job_relearn(request: HttpRequest, pk: int) -> HttpResponse:
    """Wheel by wheel as the vehicle wants it, then pressures, lamp and road."""
    job = find_job(pk)
    walk = walk_of(job)
    form = RelearnForm(
        request.POST if request.method == "POST" else None,
        wheels=[step.now for step in walk],
        shop=ShopSettings.load(),
        initial={"lamp_after": job.lamp_after, "pressures_set_cold": job.pressures_set_cold}
        | {"road_checked": job.road_checked, "after": last_reading(job)},
    )
    if form.is_valid():
        checks = ("lamp_after", "pressures_set_cold", "road_checked", "after")
        done = form.submit(
            record_relearn,
            job,
            learned_wheels(walk, form.learned()),
            by=request.user,
            **{name: form.cleaned_data[name] for name in checks},
        )
        if done is not None:
            messages.success(request, f"{len(done)} of {len(walk)} wheels learned, written down.")
            return redirect("jobs:job_detail", pk)
    new = {step.now.wheel.pk for step in walk if step.is_new and not step.is_learned}
    context = {"job": job, "form": form, "walk": walk, "new": new}
    return render(request, "jobs/job_relearn.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def job_comeback(request: HttpRequest, pk: int) -> HttpResponse:
    """Which earlier job this one came back from, why, who pays; and what was advised then."""
    job = find_job(pk)
    earlier = list(
        Job.objects.filter(vehicle=job.vehicle_id, opened_at__lt=job.opened_at)
        .prefetch_related("advice__wheel", "lines__part")
        .order_by("-opened_at")[:EARLIER_SHOWN]
    )
    sent = request.POST if request.method == "POST" else None
    told = {"of": job.comeback_of_id, "cause": job.cause, "payer": job.payer}
    form = ComebackForm(sent, earlier=earlier, initial=told if job.comeback_of_id else None)
    written = form.submit(record_comeback, job, **form.cleaned_data) if form.is_valid() else None
    if written:
        messages.success(request, f"Job {job} came back from {job.comeback_of}.")
        return redirect("jobs:job_detail", pk)
    return render(request, "jobs/job_comeback.html", {"job": job, "form": form, "earlier": earlier})
