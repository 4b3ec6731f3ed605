"""Search, and the way from a vehicle to its parts."""

from collections.abc import Sequence
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
    shop = ShopSettings.load()
    form = FindingsForm(request.GET, shop=shop)
    findings = form.findings()
    state = fit_for(request.GET, findings)
    context = {"shop": shop, "fit": state, "findings_form": form, "give_form": _give_form(request)}
    if state.settled:
        context |= _answered(request, state.left, form, shop)
    return context


def _answered(
    request: HttpRequest, possible: Sequence[Possible], form: FindingsForm, shop: ShopSettings
) -> dict[str, Any]:
    """What fits, and what lamp, gauge and dates mean there."""
    findings, measured = form.findings(), MeasuredForm(request.GET, shop=shop)
    told = measured.measured()
    return {
        "answer": answer_for(possible, findings=findings, site=site_here(request), shop=shop),
        "measured_form": measured,
        "reads": reads(
            [one.application for one in possible],
            findings=findings,
            measured=told,
            tire=measured.tire_kind(),
            shop=shop,
        ),
    }


def _vehicle_asked(request: HttpRequest) -> Vehicle | None:
    """The vehicle the address names, where the way began at its page."""
    key = request.GET.get("vehicle", "")
    known = key.isascii() and key.isdigit() and len(key) < 19
    return Vehicle.objects.filter(pk=key).first() if known else None


def _give_form(request: HttpRequest) -> GiveForm:
    """Filled in already where the address names the vehicle that the answer is for."""
    vehicle = _vehicle_asked(request)
    return GiveForm(initial={"vehicle": vehicle.vin or str(vehicle)} if vehicle else None)


@require_safe
def fit_answer(request: HttpRequest, pk: int) -> HttpResponse:
    return _answer_page(request, get_object_or_404(Application, pk=pk), _give_form(request))


def _answer_page(request: HttpRequest, application: Application, give: GiveForm) -> HttpResponse:
    shop = ShopSettings.load()
    form = FindingsForm(request.GET, shop=shop)
    context = {"shop": shop, "findings_form": form, "give_form": give}
    context |= _answered(request, possible_fits([application]), form, shop)
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
    return _answer_page(request, application, form)
