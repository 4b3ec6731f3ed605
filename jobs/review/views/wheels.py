"""One wheel of a job: look at it, do what is advised or something else, and what befalls it."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST

from jobs.review.actions import do_on_wheel, write_down_advice
from jobs.review.advised import action_words, advised
from jobs.review.forms import DoForm, InspectionForm
from jobs.review.inputs.laws import shop_laws
from jobs.review.views.job_page import find_job, find_wheel, ids_of, job_page
from jobs.workshop.actions.findings import record_inspection


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
