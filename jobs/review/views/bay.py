"""The job page in the bay: read the wheels, see the advice, do it, close."""

from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.db import transaction
from django.db.models import Q
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from inventory.action_form import PostingForm, new_key
from inventory.catalog.codes import normalised
from inventory.catalog.models import Part, PartKind
from inventory.shop.here import site_here
from inventory.shop.models import ShopSettings
from jobs.review.actions import do_on_wheel, write_down_advice
from jobs.review.advised import JobAdvised, WheelAdvised, action_words, advised
from jobs.review.forms import (
    ApprovalForm,
    CloseForm,
    DeclineForm,
    DoForm,
    InspectionForm,
    ReadingsForm,
    TireChangeForm,
)
from jobs.review.inputs.laws import ShopLaws, shop_laws
from jobs.review.siblings import siblings_advised
from jobs.workshop.actions.findings import record_inspection, record_readings
from jobs.workshop.actions.jobs import close_job, note_lamp, record_approval, record_declined
from jobs.workshop.actions.lines import return_part_from_job
from jobs.workshop.actions.tire_change import change_tires_same_on_all
from jobs.workshop.closing import needs
from jobs.workshop.models import Declined, Job, JobKind, JobLine, WheelAction

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


def _job(pk: int) -> Job:
    return get_object_or_404(Job.objects.for_list(), pk=pk)


@require_safe
def job_detail(request: HttpRequest, pk: int) -> HttpResponse:
    return _job_page(request, _job(pk), {})


def _job_page(request: HttpRequest, job: Job, forms: dict[str, Any]) -> HttpResponse:
    found = advised(job)
    lines = list(job.lines.select_related("part", "wheel"))
    context = {
        "job": job,
        "found": found,
        "sheets": _sheets(found, lines, forms),
        "siblings": siblings_advised(found) if job.is_open else [],
        "lines": lines,
        "total_cents": sum(line.price_cents for line in lines if line.payer in _PAYING),
        "needs": needs(job) if job.is_open else [],
        "waiting": Declined.objects.waiting_for(job) if job.is_open else [],
        "approvals": job.approvals.all(),
        "declined": job.declined.select_related("wheel"),
        "readings": _readings_form(job, found),
        "tire_change": _tire_change_form(job, found),
        "close": CloseForm(initial=_closing_values(job)),
        "approval": ApprovalForm(),
        "decline": DeclineForm(),
    }
    return render(request, "jobs/job_detail.html", context | forms)


_PAYING = ("customer", "account")


def _sheets(found: JobAdvised, lines: list[JobLine], forms: dict[str, Any]) -> list[dict[str, Any]]:
    """One card a wheel: found, advice, done."""
    bad = forms.get("wheel_form")
    return [
        {
            "one": one,
            "choices": one.case.parts.for_action(one.do, snap_in=one.snap_in),
            "inspect": InspectionForm(initial=_inspection_values(one), auto_id=_ids("look", one)),
            "do": bad[1] if bad and bad[0] == one.case.now.wheel.pk else _do_form(one),
            "others": [
                (option.action, option.words)
                for option in one.options
                if not option.why_not and option.action != one.do
            ],
            "done": [line for line in lines if line.wheel_id == one.case.now.wheel.pk],
        }
        for one in found.wheels
    ]


def _ids(name: str, one: WheelAdvised) -> str:
    """Each wheel's form has ids of its own, so that its labels find its fields."""
    return f"{name}-{one.case.now.wheel.pk}-%s"


def _do_form(one: WheelAdvised) -> DoForm:
    return DoForm(initial={"action": one.do, "key": new_key()}, auto_id=_ids("do", one))


def _inspection_values(one: WheelAdvised) -> dict[str, Any]:
    seen = one.case.inspection
    names = ("tire_off", "leak_at", "stem", "sealant_inside")
    return {name: getattr(seen, name) for name in names} if seen else {}


def _readings_form(job: Job, found: JobAdvised, data: Any = None) -> ReadingsForm:
    initial: dict[str, Any] = {"lamp_before": job.lamp_before}
    for one in found.wheels:
        if one.case.reading:
            initial[f"heard-{one.case.now.wheel.pk}"] = one.case.reading.heard
            initial[f"tries-{one.case.now.wheel.pk}"] = one.case.reading.tries
    return ReadingsForm(
        data,
        wheels=[one.case.now for one in found.wheels],
        shop=ShopSettings.load(),
        initial=initial,
    )


def _closing_values(job: Job) -> dict[str, Any]:
    return {name: getattr(job, name) for name in CloseForm.base_fields if hasattr(job, name)}


def _tire_change_form(job: Job, found: JobAdvised, data: Any = None) -> TireChangeForm | None:
    """Two taps: the kit or plain valve that fits, and go."""
    if job.kind != JobKind.TIRE_CHANGE or job.fitted.exists() or not job.is_open:
        return None
    return TireChangeForm(data, parts=_kits(job, found))


def _kits(job: Job, found: JobAdvised) -> list[tuple[int, str]]:
    fitting: dict[int, str] = {}
    for one in found.wheels:
        for choice in one.case.parts.for_action(WheelAction.RESEAL, snap_in=one.snap_in):
            fitting[choice.part.pk] = f"{choice.part.title} ({choice.here} here)"
    if not found.wheels:
        valves = Part.objects.filter(kind=PartKind.PLAIN_VALVE).order_by("number")
        fitting = {part.pk: part.title for part in valves}
    return list(fitting.items())


@require_POST
def job_read(request: HttpRequest, pk: int) -> HttpResponse:
    job, laws = _job(pk), shop_laws()
    form = _readings_form(job, advised(job, laws=laws), request.POST)
    if form.is_valid() and form.submit(_read, request, job, form, laws) is not None:
        return redirect("jobs:job_detail", pk)
    return _job_page(request, job, {"readings": form} if job.is_open else {"failed": form})


@transaction.atomic
def _read(request: HttpRequest, job: Job, form: ReadingsForm, laws: ShopLaws) -> int:
    if lamp := form.cleaned_data["lamp_before"]:
        note_lamp(job, before=lamp)
    heard = form.heard()
    if heard:
        record_readings(job, heard, by=request.user, source=form.cleaned_data["source"])
    write_down_advice(job, advised(job, laws=laws))
    return len(heard)


def _wheel(found: JobAdvised, wheel: int) -> WheelAdvised:
    if one := found.of(wheel):
        return one
    raise Http404("No such wheel on this job.")


@require_POST
def job_inspect(request: HttpRequest, pk: int, wheel: int) -> HttpResponse:
    job, laws = _job(pk), shop_laws()
    one = _wheel(advised(job, laws=laws), wheel)
    form = InspectionForm(request.POST)
    if form.is_valid():
        seen = form.submit(record_inspection, job, wheel=one.case.now.wheel, **form.cleaned_data)
        if seen:
            write_down_advice(job, advised(job, laws=laws))
            return redirect("jobs:job_detail", pk)
    return _job_page(request, job, {"failed": form})


@require_POST
def job_do(request: HttpRequest, pk: int, wheel: int) -> HttpResponse:
    job = _job(pk)
    one = _wheel(advised(job), wheel)
    form = DoForm(request.POST, auto_id=_ids("do", one))
    if form.is_valid():
        lines = form.submit(do_on_wheel, job, one, by=request.user, **form.cleaned_data)
        if lines is not None:
            words = action_words(form.cleaned_data["action"], snap_in=one.snap_in)
            messages.success(request, f"{one.case.now.where}: {words.lower()}, written down.")
            return redirect("jobs:job_detail", pk)
    return _job_page(request, job, {"wheel_form": (wheel, form), "failed": form})


@require_POST
def job_change_tires(request: HttpRequest, pk: int) -> HttpResponse:
    job = _job(pk)
    form = _tire_change_form(job, advised(job), request.POST)
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
            messages.success(request, f"{part.number} on all four, every sensor answered.")
            return redirect("jobs:job_detail", pk)
    return _job_page(request, job, {"tire_change": form, "failed": form})


@require_POST
def job_take_back(request: HttpRequest, pk: int, line: int) -> HttpResponse:
    """Undo of an issued part that was not used: it goes back to its lot."""
    job = _job(pk)
    sold = get_object_or_404(job.lines, pk=line)
    form = PostingForm(request.POST)
    pieces = sold.quantity
    if form.is_valid():
        key = form.cleaned_data["key"]
        left = form.submit(return_part_from_job, sold, pieces=pieces, by=request.user, key=key)
        if left:
            messages.success(request, f"{pieces} of {left.part} went back to the shelf.")
            return redirect("jobs:job_detail", pk)
    return _job_page(request, job, {"failed": form})


@require_POST
def job_decline(request: HttpRequest, pk: int) -> HttpResponse:
    job = _job(pk)
    form = DeclineForm(request.POST)
    written = form.submit(record_declined, job, **form.cleaned_data) if form.is_valid() else None
    if written:
        return redirect("jobs:job_detail", pk)
    return _job_page(request, job, {"decline": form, "failed": form})


@require_POST
def job_approve(request: HttpRequest, pk: int) -> HttpResponse:
    job = _job(pk)
    form = ApprovalForm(request.POST)
    written = form.submit(record_approval, job, **form.cleaned_data) if form.is_valid() else None
    if written:
        return redirect("jobs:job_detail", pk)
    return _job_page(request, job, {"approval": form, "failed": form})


@require_POST
def job_close(request: HttpRequest, pk: int) -> HttpResponse:
    job = _job(pk)
    form = CloseForm(request.POST)
    if form.is_valid():
        answers = dict(form.cleaned_data)
        reason = answers.pop("reason")
        if form.submit(close_job, job, answers=answers, reason=reason):
            messages.success(request, f"Job {job} is closed.")
            return redirect("jobs:job_detail", pk)
    return _job_page(request, job, {"close": form, "failed": form})


@require_safe
def job_card(request: HttpRequest, pk: int) -> HttpResponse:
    """The job on paper: findings, advice with its cautions, what was fitted."""
    job = _job(pk)
    context = {
        "job": job,
        "found": advised(job),
        "lines": job.lines.select_related("part", "wheel"),
        "needs": needs(job) if job.is_open else [],
    }
    return render(request, "jobs/job_card.html", context)
