"""The jobs of a site; one job from reading its sensors to closing it. Its wheels: see wheels."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.db import transaction
from django.db.models import Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from inventory.action_form import PostingForm
from inventory.catalog.codes import normalised
from inventory.catalog.models import Part
from inventory.shop.here import site_here
from jobs.review.actions import write_down_advice
from jobs.review.advised import advised
from jobs.review.forms import ApprovalForm, CloseForm, DeclineForm, ReadingFileForm, ReadingsForm
from jobs.review.inputs.laws import ShopLaws, shop_laws
from jobs.review.reading_file import heard_in_file
from jobs.review.views.job_page import find_job, job_page, readings_form, tire_change_form
from jobs.workshop.actions.findings import record_readings
from jobs.workshop.actions.fitting import take_back_line
from jobs.workshop.actions.jobs import close_job, note_lamp, record_approval, record_declined
from jobs.workshop.actions.tire_change import change_tires_same_on_all
from jobs.workshop.closing import needs
from jobs.workshop.models import Job

JOBS_A_PAGE = 50
SHOWN = {"": "Here now", "booked": "Booked", "closed": "Closed"}


@require_safe
def job_list(request: HttpRequest) -> HttpResponse:
    site, show = site_here(request), request.GET.get("show", "")
    q = request.GET.get("q", "")[:60]
    jobs = Job.objects.at(site).for_list().with_total()
    newest = jobs.order_by("-opened_at", "-pk")
    chosen = {"booked": jobs.booked(), "closed": newest.exclude(closed_at=None)}
    found = chosen.get(show, newest.in_hand())
    if q:
        found = found.filter(
            Q(key__icontains=q)
            | Q(vehicle__plate_key__contains=normalised(q))
            | Q(vehicle__unit_number__iexact=q)
        )
    context = {
        "page": Paginator(found, JOBS_A_PAGE).get_page(request.GET.get("page")),
        "show": show if show in SHOWN else "",
        "shown": SHOWN.items(),
        "q": q,
    }
    return render(request, "jobs/job_list.html", context)


@require_safe
def job_detail(request: HttpRequest, pk: int) -> HttpResponse:
    return job_page(request, find_job(pk), {})


@require_POST
def job_read(request: HttpRequest, pk: int) -> HttpResponse:
    job, laws = find_job(pk), shop_laws()
    form = readings_form(job, advised(job, laws=laws), request.POST)
    if form.is_valid() and form.submit(_read, request, job, form, laws) is not None:
        return redirect("jobs:job_detail", pk)
    return job_page(request, job, {"readings": form} if job.is_open else {"failed": form})


@transaction.atomic
def _read(request: HttpRequest, job: Job, form: ReadingsForm, laws: ShopLaws) -> int:
    if lamp := form.cleaned_data["lamp_before"]:
        note_lamp(job, before=lamp)
    heard = form.heard()
    if heard:
        said = {name: form.cleaned_data[name] for name in ("source", "after")}
        record_readings(job, heard, by=request.user, **said)
    write_down_advice(job, advised(job, laws=laws))
    return len(heard)


@require_POST
def job_read_file(request: HttpRequest, pk: int) -> HttpResponse:
    job, laws = find_job(pk), shop_laws()
    form = ReadingFileForm(request.POST, request.FILES)
    if form.is_valid():
        heard = form.submit(_read_file, request, job, form, laws)
        if heard is not None:
            messages.success(request, f"Wheels read from the file: {heard}.")
            return redirect("jobs:job_detail", pk)
    return job_page(request, job, {"reading_file": form, "failed": form})


@transaction.atomic
def _read_file(request: HttpRequest, job: Job, form: ReadingFileForm, laws: ShopLaws) -> int:
    said = form.cleaned_data
    wheels = [one.case.now for one in advised(job, laws=laws).wheels]
    told = heard_in_file(said["file"], wheels)
    heard = record_readings(job, told, by=request.user, after=said["after"])
    write_down_advice(job, advised(job, laws=laws))
    return len(heard)


@require_POST
def job_change_tires(request: HttpRequest, pk: int) -> HttpResponse:
    job = find_job(pk)
    form = tire_change_form(job, advised(job), request.POST)
    if form is None:
        return redirect("jobs:job_detail", pk)
    if form.is_valid():
        part = get_object_or_404(Part, pk=form.cleaned_data["part"])
        if form.submit(
            change_tires_same_on_all,
            job,
            part=part,
            by=request.user,
            key=form.cleaned_data["key"],
            lamp_after=form.cleaned_data["lamp_after"],
        ):
            silent = any(need.field == "readings" for need in needs(job))
            heard = "what was read before stays" if silent else "every sensor answered"
            messages.success(request, f"{part.number} on all four, {heard}.")
            return redirect("jobs:job_detail", pk)
    return job_page(request, job, {"tire_change": form, "failed": form})


@require_POST
def job_take_back(request: HttpRequest, pk: int, line: int) -> HttpResponse:
    """Undo of an issued part: it goes back to its lot, and was never fitted."""
    job = find_job(pk)
    sold = get_object_or_404(job.lines, pk=line)
    form = PostingForm(request.POST)
    pieces = sold.quantity
    if form.is_valid():
        key = form.cleaned_data["key"]
        left = form.submit(take_back_line, sold, by=request.user, key=key)
        if left:
            messages.success(request, f"{pieces} of {left.part} went back to the shelf.")
            return redirect("jobs:job_detail", pk)
    return job_page(request, job, {"failed": form})


@require_POST
def job_decline(request: HttpRequest, pk: int) -> HttpResponse:
    job = find_job(pk)
    form = DeclineForm(request.POST)
    written = form.submit(record_declined, job, **form.cleaned_data) if form.is_valid() else None
    if written:
        return redirect("jobs:job_detail", pk)
    return job_page(request, job, {"decline": form, "failed": form})


@require_POST
def job_approve(request: HttpRequest, pk: int) -> HttpResponse:
    job = find_job(pk)
    form = ApprovalForm(request.POST, needs=needs(job))
    written = form.submit(record_approval, job, **form.cleaned_data) if form.is_valid() else None
    if written:
        return redirect("jobs:job_detail", pk)
    return job_page(request, job, {"approval": form, "failed": form})


@require_POST
def job_close(request: HttpRequest, pk: int) -> HttpResponse:
    job = find_job(pk)
    form = CloseForm(request.POST)
    if not job.is_open:
        messages.info(request, f"Job {job} is closed already; see below how.")
        return redirect("jobs:job_detail", pk)
    if form.is_valid():
        answers = dict(form.cleaned_data)
        reason = answers.pop("reason")
        if form.submit(close_job, job, answers=answers, reason=reason):
            messages.success(request, f"Job {job} is closed.")
            return redirect("jobs:job_detail", pk)
    return job_page(request, job, {"close": form, "failed": form})


@require_safe
def job_card(request: HttpRequest, pk: int) -> HttpResponse:
    """The job on paper: findings, advice with its cautions, what was fitted."""
    job = find_job(pk)
    context = {
        "job": job,
        "found": advised(job),
        "lines": job.lines.select_related("part", "wheel"),
        "needs": needs(job) if job.is_open else [],
    }
    return render(request, "jobs/job_card.html", context)
