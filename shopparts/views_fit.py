"""Search, and the way from a vehicle to its parts."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from inventory.catalog.actions.drafts import draft_application
from inventory.catalog.inputs import Possible, possible_fits
from inventory.catalog.models import Application
from inventory.catalog.names import makes, models_of, typed, vehicles_named
from inventory.shop.here import site_here
from inventory.shop.models import ShopSettings
from jobs.workshop.actions.vehicles import name_vehicle
from jobs.workshop.models import Vehicle
from shopparts.fit import NOT_KNOWN, fit_for
from shopparts.fit_answer import answer_for
from shopparts.fit_forms import GiveForm, MeasuredForm, NotListedForm
from shopparts.fit_reads import reads
from shopparts.forms import FindingsForm
from shopparts.search import found_for


@require_safe
def search(request: HttpRequest) -> HttpResponse:
    """As one types a part of the page; on Enter the only hit itself, or the page of all."""
    text = request.GET.get("q", "")
    typing = request.headers.get("HX-Request") == "true"
    found = found_for(text, today=site_here(request).today(), limit=8 if typing else 20)
    if len(found.hits) == 1 and not typing and not found.notes:
        return redirect(found.hits[0].address)
    context = {"q": text, "found": found}
    return render(request, "_found.html" if typing else "search.html", context)


@require_safe
def fit(request: HttpRequest) -> HttpResponse:
    make, model = (request.GET.get(name, "") for name in ("make", "model"))
    if make and model:
        return render(request, "fit.html", _narrowed(request))
    context = {"models": models_of(make)} if make else {"makes": makes()}
    return render(request, "fit.html", context)


def _narrowed(request: HttpRequest) -> dict[str, Any]:
    """The question to ask about this make and model, or what fits."""
    context = _seen(request)
    vehicle = context["vehicle"]
    state = fit_for(
        request.GET, context["findings"], built_month=vehicle.built_month if vehicle else None
    )
    answered = _answered(request, state.left, context) if state.settled else {}
    return context | {"fit": state} | answered


def _seen(request: HttpRequest) -> dict[str, Any]:
    """The vehicle and the wheel as the address tells of them, and the forms that tell more."""
    shop, vehicle = ShopSettings.load(), _vehicle_asked(request)
    form = FindingsForm(request.GET, shop=shop)
    findings = form.findings()
    if vehicle and findings.pressure_set_kpa is None:
        findings = replace(findings, pressure_set_kpa=vehicle.pressure_set_kpa)
    return {
        "shop": shop,
        "vehicle": vehicle,
        "findings": findings,
        "findings_form": form,
        "measured_form": MeasuredForm(request.GET, shop=shop),
    }


def _vehicle_asked(request: HttpRequest) -> Vehicle | None:
    """The vehicle the address names, where the way began at its page."""
    key = request.GET.get("vehicle", "")
    known = key.isascii() and key.isdigit() and len(key) < 19
    return Vehicle.objects.filter(pk=key).first() if known else None


def _answered(
    request: HttpRequest, possible: Sequence[Possible], seen: dict[str, Any]
) -> dict[str, Any]:
    """What fits, what lamp, gauge and dates mean there, and whether it is the vehicle asked for."""
    applications = [one.application for one in possible]
    shop, findings, measured = seen["shop"], seen["findings"], seen["measured_form"]
    vehicle = seen["vehicle"]
    new = vehicle and vehicle.application_id not in {one.pk for one in applications}
    return {
        "answer": answer_for(possible, findings=findings, site=site_here(request), shop=shop),
        "reads": reads(
            applications,
            findings=findings,
            measured=measured.measured(),
            tire=measured.tire_kind(),
            shop=shop,
        ),
        "give_form": GiveForm(initial={"vehicle": vehicle.vin or str(vehicle)} if new else None),
    }


@require_safe
def fit_answer(request: HttpRequest, pk: int) -> HttpResponse:
    return _answer_page(request, get_object_or_404(Application, pk=pk))


def _answer_page(request: HttpRequest, application: Application, **forms: GiveForm) -> HttpResponse:
    seen = _seen(request)
    context = seen | _answered(request, possible_fits([application]), seen) | forms
    return render(request, "fit_answer.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def fit_not_listed(request: HttpRequest) -> HttpResponse:
    """Fit by what you see: a draft for the catalogue, usable at once."""
    sent = request.POST if request.method == "POST" else None
    answered = {n: v for n, v in request.GET.items() if v != NOT_KNOWN and n != "key"}
    form, draft = NotListedForm(sent, initial=answered), None
    if form.is_valid():
        draft = form.submit(
            draft_application,
            form.seen(),
            on=site_here(request).today(),
            by=request.user,
            **form.vehicle(),
        )
    if draft:
        messages.success(request, f"{draft} is in the list of drafts; the parts manager checks it.")
        vehicle = _vehicle_asked(request)
        address = reverse("fit_answer", args=[draft.pk])
        return redirect(f"{address}?vehicle={vehicle.pk}" if vehicle else address)
    named = " ".join(str(form[name].value() or "") for name in ("year", "make", "model"))
    context = {"form": form, "alike": vehicles_named(named, limit=4), "year": typed(named).year}
    return render(request, "fit_not_listed.html", context)


@require_POST
def fit_give(request: HttpRequest, pk: int) -> HttpResponse:
    """This answer is for a vehicle that is written down already."""
    application = get_object_or_404(Application, pk=pk)
    form = GiveForm(request.POST)
    if form.is_valid():
        said, on = form.cleaned_data, site_here(request).today()
        vehicle = form.submit(
            name_vehicle,
            said["vehicle"],
            application,
            on=on,
            instead=said["instead"],
            by=request.user,
        )
        if vehicle:
            messages.success(request, f"{vehicle} is written down as {application}.")
            return redirect("jobs:vehicle_detail", vehicle.pk)
    return _answer_page(request, application, give_form=form)
