"""Pages of the shop itself: its settings, its sites, and the bins of each."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.db.models import Count, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from inventory.shop.amounts import count_text
from inventory.shop.models import Bin, ShopSettings, Site
from inventory.shop.roles import Role, role_required
from shopparts.first_hour import AWAY, first_hour_for
from shopparts.first_hour import first_hour as first_hour_now
from shopparts.shop_forms import BinForm, BinsForm, SettingsForm, SiteForm, zones
from shopparts.shop_upkeep import (
    add_bins,
    add_site,
    change_bin,
    change_settings,
    change_site,
    drop_bin,
)

BINS_A_PAGE = 100
YEAR_SECONDS = 365 * 24 * 3600


@require_http_methods(["GET", "HEAD", "POST"])
@role_required(Role.OWNER)
def shop_settings(request: HttpRequest) -> HttpResponse:
    form = SettingsForm(request.POST or None, instance=ShopSettings.load())
    if form.is_valid():
        saved = form.submit(change_settings, to=form.changes(), by=request.user)
        if saved:
            messages.success(request, "The shop's settings are saved.")
            return redirect("first_hour" if first_hour_for(request) else "shop_settings")
    return render(request, "shop_settings.html", {"form": form})


@require_safe
@role_required(Role.PARTS_MANAGER)
def site_list(request: HttpRequest) -> HttpResponse:
    found = Site.objects.selling().annotate(bin_count=Count("bins"))
    return render(request, "site_list.html", {"found": found})


@require_http_methods(["GET", "HEAD", "POST"])
@role_required(Role.OWNER)
def site_new(request: HttpRequest) -> HttpResponse:
    form = SiteForm(request.POST or None)
    if form.is_valid() and (site := form.submit(add_site, by=request.user, **form.cleaned_data)):
        messages.success(request, f"{site} is added. Now its bins.")
        return redirect("site_detail", site.pk)
    return render(request, "site_new.html", {"form": form, "zones": zones()})


@require_http_methods(["GET", "HEAD", "POST"])
@role_required(Role.OWNER)
def site_change(request: HttpRequest, pk: int) -> HttpResponse:
    site = get_object_or_404(Site.objects.selling(), pk=pk)
    form = SiteForm(request.POST or None, instance=site)
    if form.is_valid():
        # The form has put its values on its own copy; the action compares with what is kept.
        kept = Site.objects.get(pk=pk)
        if form.submit(change_site, kept, to=form.cleaned_data, by=request.user):
            messages.success(request, f"{kept} is saved.")
            return redirect("site_detail", pk)
    context = {"form": form, "changing": Site.objects.get(pk=pk), "zones": zones()}
    return render(request, "site_change.html", context)


@require_safe
@role_required(Role.PARTS_MANAGER)
def site_detail(request: HttpRequest, pk: int) -> HttpResponse:
    return _site_page(request, get_object_or_404(Site.objects.selling(), pk=pk), BinsForm())


def _site_page(request: HttpRequest, site: Site, form: BinsForm) -> HttpResponse:
    lying = Count("lot__shelf", filter=Q(lot__pieces_left__gt=0), distinct=True)
    bins = site.bins.annotate(part_count=lying).order_by("code")
    page = Paginator(bins, BINS_A_PAGE).get_page(request.GET.get("page"))
    return render(request, "site_detail.html", {"place": site, "page": page, "form": form})


@require_POST
@role_required(Role.PARTS_MANAGER)
def bin_add(request: HttpRequest, pk: int) -> HttpResponse:
    site, form = get_object_or_404(Site.objects.selling(), pk=pk), BinsForm(request.POST)
    if form.is_valid():
        said = form.cleaned_data
        made = form.submit(add_bins, site, said["lines"], kind=said["kind"], by=request.user)
        if made:
            messages.success(request, f"{count_text(len(made), 'bin')} added at {site}.")
            return redirect("site_detail", pk)
    return _site_page(request, site, form)


@require_http_methods(["GET", "HEAD", "POST"])
@role_required(Role.PARTS_MANAGER)
def bin_detail(request: HttpRequest, pk: int) -> HttpResponse:
    bin = get_object_or_404(Bin.objects.select_related("site"), pk=pk)
    form = BinForm(request.POST or None, instance=Bin.objects.get(pk=pk))
    if form.is_valid():
        saved = form.submit(change_bin, bin, to=form.cleaned_data, by=request.user)
        if saved:
            messages.success(request, f"Bin {saved} is saved.")
            return redirect("site_detail", saved.site_id)
    lots = bin.lot_set.left().select_related("shelf__part").order_by("shelf__part__number")
    return render(request, "bin_detail.html", {"bin": bin, "form": form, "lots": lots})


@require_POST
@role_required(Role.PARTS_MANAGER)
def bin_drop(request: HttpRequest, pk: int) -> HttpResponse:
    bin = get_object_or_404(Bin.objects.select_related("site"), pk=pk)
    try:
        drop_bin(bin, by=request.user)
    except ValidationError as refusal:
        messages.error(request, refusal.messages[0])
        return redirect("bin_detail", pk)
    messages.success(request, f"Bin {bin} is dropped.")
    return redirect("site_detail", bin.site_id)


@require_safe
@role_required(Role.OWNER)
def first_hour(request: HttpRequest) -> HttpResponse:
    return render(request, "first_hour.html", {"hour": first_hour_now()})


@require_POST
@role_required(Role.OWNER)
def first_hour_away(request: HttpRequest) -> HttpResponse:
    """Put the list away on this device, or take it out again."""
    answer = redirect("today")
    if "out" in request.POST:
        answer.delete_cookie(AWAY)
    else:
        answer.set_cookie(AWAY, "away", max_age=YEAR_SECONDS, httponly=True, samesite="Lax")
    return answer
