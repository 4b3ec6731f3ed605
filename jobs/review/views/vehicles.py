"""A vehicle with its wheels and history; writing a new one down; opening a job on it."""

from typing import Any

from django.contrib import messages
from django.forms import model_to_dict
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from inventory.catalog.models import Application
from inventory.shop.here import site_here
from inventory.shop.models import ShopSettings
from inventory.shop.roles import Role, role_required
from jobs.review.vehicle_forms import MountForm, OpenJobForm, VehicleChangeForm, VehicleForm
from jobs.workshop.actions.jobs import open_job
from jobs.workshop.actions.keepers import forget_keeper
from jobs.workshop.actions.vehicles import change_vehicle, register_vehicle, set_up_wheels
from jobs.workshop.actions.wheels import swap_sets
from jobs.workshop.models import Job, Vehicle
from jobs.workshop.standing import standing
from jobs.workshop.timeline import timeline


@require_safe
def vehicle_detail(request: HttpRequest, pk: int) -> HttpResponse:
    return _vehicle_page(request, pk, OpenJobForm())


def _vehicle_page(request: HttpRequest, pk: int, form: OpenJobForm) -> HttpResponse:
    vehicle = get_object_or_404(Vehicle.objects.for_page(), pk=pk)
    jobs = Job.objects.filter(vehicle=vehicle).for_list()
    context = {
        "vehicle": vehicle,
        "standing": standing(vehicle, on=site_here(request).today()),
        "open_job": next((job for job in jobs if job.is_open and not job.booked_for), None),
        "jobs": jobs,
        "timeline": timeline(vehicle),
        "form": form,
    }
    return render(request, "jobs/vehicle_detail.html", context)


@require_POST
def job_open(request: HttpRequest, pk: int) -> HttpResponse:
    vehicle = get_object_or_404(Vehicle, pk=pk)
    form = OpenJobForm(request.POST)
    if form.is_valid():
        said = {"technician": request.user} | form.cleaned_data
        job = _opened_before(vehicle, said) or form.submit(
            open_job, vehicle, site=site_here(request), **said
        )
        if job:
            return redirect("jobs:job_detail", job.pk)
    return _vehicle_page(request, pk, form)


def _opened_before(vehicle: Vehicle, said: dict[str, Any]) -> Job | None:
    """The job that this very form opened when it was sent the first time."""
    return vehicle.jobs.open().filter(booked_for=None, **said).first()


@require_http_methods(["GET", "HEAD", "POST"])
def vehicle_mount(request: HttpRequest, pk: int) -> HttpResponse:
    """Mount a stored set and say where the one that comes off is kept."""
    vehicle = get_object_or_404(Vehicle.objects.for_page(), pk=pk)
    today = site_here(request).today()
    stand = standing(vehicle, on=today)
    form = MountForm(
        request.POST if request.method == "POST" else None,
        standing=stand,
        initial={"mount": request.GET.get("set") or next(iter(stand.sets_in_store), None)},
    )
    if form.is_valid():
        chosen = form.cleaned_data["mount"]
        if form.submit(swap_sets, vehicle, on=today, **form.cleaned_data):
            messages.success(request, f"{chosen} is mounted; what came off is in store.")
            return redirect("jobs:vehicle_detail", pk)
    context = {"vehicle": vehicle, "form": form, "standing": stand}
    return render(request, "jobs/vehicle_mount.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def vehicle_change(request: HttpRequest, pk: int) -> HttpResponse:
    vehicle = get_object_or_404(Vehicle.objects.select_related("keeper"), pk=pk)
    sent = request.POST if request.method == "POST" else None
    form = VehicleChangeForm(sent, shop=ShopSettings.load(), initial=_known(vehicle))
    if form.is_valid():
        changed = form.submit(change_vehicle, vehicle, by=request.user, **form.cleaned_data)
        if changed:
            messages.success(request, "What is known of it is changed.")
            return redirect("jobs:vehicle_detail", pk)
    return render(request, "jobs/vehicle_change.html", {"vehicle": vehicle, "form": form})


def _known(vehicle: Vehicle) -> dict[str, Any]:
    keeper = vehicle.keeper
    brought = {"keeper_name": keeper.name, "keeper_phone": keeper.phone} if keeper else {}
    return model_to_dict(vehicle) | brought


@role_required(Role.OWNER)
@require_POST
def keeper_forget(request: HttpRequest, pk: int) -> HttpResponse:
    vehicle = get_object_or_404(Vehicle.objects.exclude(keeper=None), pk=pk)
    keeper = vehicle.keeper
    assert keeper is not None
    forget_keeper(keeper, by=request.user)
    messages.success(request, "Name and phone are erased; what was done to the vehicle stays.")
    return redirect("jobs:vehicle_detail", pk)


@require_http_methods(["GET", "HEAD", "POST"])
def vehicle_new(request: HttpRequest) -> HttpResponse:
    """The fit page leads here with the application it found."""
    sent = request.POST if request.method == "POST" else None
    form = VehicleForm(sent, initial=request.GET.dict())
    if form.is_valid():
        vehicle = form.submit(register_vehicle, **form.cleaned_data)
        if vehicle:
            _set_up(vehicle, request)
            return redirect("jobs:vehicle_detail", vehicle.pk)
    chosen = form["application"].value()
    known = str(chosen or "").isdigit()
    context = {
        "form": form,
        "application": Application.objects.filter(pk=chosen).first() if known else None,
    }
    return render(request, "jobs/vehicle_new.html", context)


def _set_up(vehicle: Vehicle, request: HttpRequest) -> None:
    application = vehicle.application
    count = 5 if application and application.spare_has_sensor else 4
    set_up_wheels(vehicle, count=count, on=site_here(request).today())
