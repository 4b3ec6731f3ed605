"""The job page with every form on it, shown afresh and with what was wrong; no addresses here."""

from collections.abc import Collection, Mapping
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from inventory.action_form import new_key
from inventory.catalog.models import Part, PartKind
from inventory.shop.models import ShopSettings
from jobs.review.advised import JobAdvised, WheelAdvised, advised
from jobs.review.forms import (
    ApprovalForm,
    CloseForm,
    DeclineForm,
    DoForm,
    ExplainIdForm,
    InspectionForm,
    PlainValveForm,
    PrintedCodeForm,
    ReadingFileForm,
    ReadingsForm,
    TireChangeForm,
)
from jobs.review.ids import ids_heard
from jobs.review.siblings import replaced_now, siblings_advised
from jobs.workshop.closing import needs
from jobs.workshop.models import Declined, Job, JobKind, JobLine, WheelAction


def find_job(pk: int) -> Job:
    return get_object_or_404(Job.objects.for_list(), pk=pk)


def find_wheel(found: JobAdvised, wheel: int) -> WheelAdvised:
    if one := found.of(wheel):
        return one
    raise Http404("No such wheel on this job.")


def job_page(request: HttpRequest, job: Job, forms: dict[str, Any]) -> HttpResponse:
    found = advised(job)
    ids = ids_heard(request.GET.get("ids", "")[:200], found.case.standing)
    siblings = siblings_advised(found) if job.is_open else []
    missing = needs(job) if job.is_open else []
    lines = list(job.lines.select_related("part", "wheel"))
    context = {
        "job": job,
        "found": found,
        "sheets": _sheets(found, lines, forms, replaced_now(siblings)),
        "siblings": siblings,
        "lines": lines,
        "total_cents": sum(line.price_cents for line in lines if line.payer in _PAYING),
        "needs": missing,
        "waiting": Declined.objects.waiting_for(job) if job.is_open else [],
        "approvals": job.approvals.all(),
        "declined": job.declined.select_related("wheel"),
        "readings": readings_form(job, found, heard=ids.initial),
        "reading_file": ReadingFileForm(initial={"after": last_reading(job)}),
        "ids": ids,
        "tire_change": tire_change_form(job, found),
        "close": CloseForm(initial=_closing_values(job)),
        "approval": ApprovalForm(needs=missing),
        "decline": DeclineForm(),
    }
    return render(request, "jobs/job_detail.html", context | forms)


_PAYING = ("customer", "account")
WITH_ANOTHER = "With the other wheel, while we are here"


def _sheets(
    found: JobAdvised, lines: list[JobLine], forms: dict[str, Any], too: Collection[int]
) -> list[dict[str, Any]]:
    """One card a wheel: found, advice, done; `too` are replaced with another wheel's body."""
    bad = forms.get("wheel_form")
    return [
        {
            "one": one,
            "choices": one.case.parts.for_action(one.do, snap_in=one.snap_in),
            "inspect": InspectionForm(initial=_inspection_values(one), auto_id=ids_of("look", one)),
            "whose": ExplainIdForm(auto_id=ids_of("whose", one)) if one.case.unknown_id else None,
            "code": PrintedCodeForm(initial=_code_known(one), auto_id=ids_of("code", one)),
            "valve": _valve_form(one),
            "do": bad[1]
            if bad and bad[0] == one.case.now.wheel.pk
            else _do_form(one, WITH_ANOTHER if one.case.now.wheel.pk in too else ""),
            "others": [
                (option.action, option.words)
                for option in one.options
                if not option.why_not and option.action != one.do
            ],
            "done": [line for line in lines if line.wheel_id == one.case.now.wheel.pk],
        }
        for one in found.wheels
    ]


def ids_of(name: str, one: WheelAdvised) -> str:
    """Each wheel's form has ids of its own, so that its labels find its fields."""
    return f"{name}-{one.case.now.wheel.pk}-%s"


def _do_form(one: WheelAdvised, reason: str) -> DoForm:
    chosen = one.case.parts.for_action(one.do, snap_in=one.snap_in)
    minutes = sum(choice.part.preparation_minutes for choice in chosen) or None
    initial = {"action": one.do, "key": new_key(), "prepare_minutes": minutes, "reason": reason}
    return DoForm(initial=initial, auto_id=ids_of("do", one))


def _valve_form(one: WheelAdvised) -> PlainValveForm | None:
    if not one.may_get_plain_valve:
        return None
    return PlainValveForm(initial={"key": new_key()}, auto_id=ids_of("valve", one))


def _code_known(one: WheelAdvised) -> dict[str, str]:
    return {"code": one.case.now.body.piece.printed_code} if one.case.now.body else {}


def _inspection_values(one: WheelAdvised) -> dict[str, Any]:
    seen = one.case.inspection
    names = ("tire_off", "leak_at", "stem", "sealant_inside")
    return {name: getattr(seen, name) for name in names} if seen else {}


def readings_form(
    job: Job, found: JobAdvised, data: Any = None, *, heard: Mapping[str, str] | None = None
) -> ReadingsForm:
    initial: dict[str, Any] = {"lamp_before": job.lamp_before, "after": last_reading(job)}
    for one in found.wheels:
        if one.case.reading:
            initial[f"heard-{one.case.now.wheel.pk}"] = one.case.reading.heard
            initial[f"tries-{one.case.now.wheel.pk}"] = one.case.reading.tries
    return ReadingsForm(
        data,
        wheels=[one.case.now for one in found.wheels],
        shop=ShopSettings.load(),
        initial=initial | dict(heard or {}),
    )


def last_reading(job: Job) -> int:
    """The newest that a page shows of this job; 0 where nothing was read yet."""
    return max(job.readings.values_list("pk", flat=True), default=0)


def _closing_values(job: Job) -> dict[str, Any]:
    return {name: getattr(job, name) for name in CloseForm.base_fields if hasattr(job, name)}


def tire_change_form(job: Job, found: JobAdvised, data: Any = None) -> TireChangeForm | None:
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
