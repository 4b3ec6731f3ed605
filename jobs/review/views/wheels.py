"""One wheel of a job: look at it, do what is advised or something else, and what befalls it."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST

from jobs.review.actions import (
    break_sensor,
    do_on_wheel,
    fit_plain_valve,
    write_down_advice,
)
from jobs.review.advised import action_words, advised
from jobs.review.forms import (
    BrokenForm,
    DoForm,
    ExplainIdForm,
    InspectionForm,
    PlainValveForm,
    PrintedCodeForm,
)
from jobs.review.inputs.laws import shop_laws
from jobs.review.views.job_page import find_job, find_wheel, ids_of, job_page
from jobs.workshop.actions.findings import record_inspection
from jobs.workshop.actions.ids import confirm_printed_code, explain_id


@require_POST
def job_inspect(request: HttpRequest, pk: int, wheel: int) -> HttpResponse:
    job, laws = find_job(pk), shop_laws()
    one = find_wheel(advised(job, laws=laws), wheel)
    form = InspectionForm(request.POST)
    if form.is_valid():
        seen = form.submit(record_inspection, job, wheel=one.case.now.wheel, **form.cleaned_data)
        if seen:
            write_down_advice(job, advised(job, laws=laws))
            return redirect("jobs:job_detail", pk)
    return job_page(request, job, {"failed": form})


@require_POST
def job_do(request: HttpRequest, pk: int, wheel: int) -> HttpResponse:
    job = find_job(pk)
    one = find_wheel(advised(job), wheel)
    form = DoForm(request.POST, auto_id=ids_of("do", one))
    if form.is_valid():
        lines = form.submit(do_on_wheel, job, one, by=request.user, **form.cleaned_data)
        if lines is not None:
            words = action_words(form.cleaned_data["action"], snap_in=one.snap_in)
            messages.success(request, f"{one.case.now.where}: {words.lower()}, written down.")
            return redirect("jobs:job_detail", pk)
    return job_page(request, job, {"wheel_form": (wheel, form), "failed": form})


@require_POST
def job_explain_id(request: HttpRequest, pk: int, wheel: int) -> HttpResponse:
    """Whose the id is that this wheel answered with; once explained there is nothing to do."""
    job, laws = find_job(pk), shop_laws()
    one = find_wheel(advised(job, laws=laws), wheel)
    form = ExplainIdForm(request.POST)
    if not one.case.unknown_id:
        return redirect("jobs:job_detail", pk)
    if form.is_valid():
        its = one.case.unknown_id
        kept = form.submit(
            explain_id, job, wheel=one.case.now.wheel, sensor_id=its, **form.cleaned_data
        )
        if kept:
            messages.success(request, f"{one.case.now.where} answers with {kept.sensor_id}.")
            return redirect("jobs:job_detail", pk)
    return job_page(request, job, {"failed": form})


@require_POST
def job_confirm_code(request: HttpRequest, pk: int, wheel: int) -> HttpResponse:
    """The code read off the body while the tire is off."""
    job = find_job(pk)
    one = find_wheel(advised(job), wheel)
    form = PrintedCodeForm(request.POST)
    body = one.case.now.body
    if form.is_valid() and body is not None:
        known = form.submit(confirm_printed_code, body.piece, **form.cleaned_data)
        if known:
            return redirect("jobs:job_detail", pk)
    return job_page(request, job, {"failed": form})


@require_POST
def job_break_sensor(request: HttpRequest, pk: int, wheel: int) -> HttpResponse:
    job = find_job(pk)
    one = find_wheel(advised(job), wheel)
    form = BrokenForm(request.POST)
    broken = form.submit(break_sensor, job, one, by=request.user) if form.is_valid() else None
    if broken:
        return redirect("jobs:job_detail", pk)
    return job_page(request, job, {"failed": form})


@require_POST
def job_plain_valve(request: HttpRequest, pk: int, wheel: int) -> HttpResponse:
    job = find_job(pk)
    one = find_wheel(advised(job), wheel)
    form = PlainValveForm(request.POST)
    if form.is_valid():
        lines = form.submit(fit_plain_valve, job, one, by=request.user, **form.cleaned_data)
        if lines:
            messages.success(request, f"{one.case.now.where}: plain valve, written down.")
            return redirect("jobs:job_detail", pk)
    return job_page(request, job, {"failed": form})
