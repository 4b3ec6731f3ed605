"""The par list of a van: what it should carry, and one click that sends what is missing."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from inventory.action_form import new_key
from inventory.reorder.actions.vans import Filled, fill_van
from inventory.reorder.forms.vans import FillVanForm
from inventory.reorder.van_par import par_list
from inventory.shop.amounts import count_text
from inventory.shop.here import site_here, sites_open
from inventory.shop.models import Site, SiteKind

TOLD = 5


@require_safe
def plan_par(request: HttpRequest) -> HttpResponse:
    """No cost stands here: whoever drives the van fills it up."""
    van = _van(request, request.GET.get("van", ""))
    context = {
        "vans": _vans(request),
        "van": van,
        "par": par_list(van) if van else None,
        "now": timezone.now(),
        "key": new_key(),
    }
    return render(request, "inventory/plan_par.html", context)


@require_POST
def plan_par_send(request: HttpRequest) -> HttpResponse:
    van = _van(request, request.POST.get("van", ""))
    if van is None:
        raise Http404("No such van.")
    form = FillVanForm(request.POST)
    filled = (
        form.submit(
            fill_van, van, wanted=form.wanted(), by=request.user, key=form.cleaned_data["key"]
        )
        if form.is_valid()
        else None
    )
    _tell(request, van, filled, form)
    return redirect(f"{reverse('inventory:plan_par')}?van={van.pk}")


def _tell(request: HttpRequest, van: Site, filled: Filled | None, form: FillVanForm) -> None:
    refusals = [str(error) for errors in form.errors.values() for error in errors]
    if filled and filled.sent:
        parts = count_text(len({transfer.part_id for transfer in filled.sent}), "part")
        messages.success(request, f"{parts} on the road to {van}; receive them in the van.")
    for sentence in (filled.short if filled else refusals)[:TOLD]:
        messages.error(request, sentence)


def _vans(request: HttpRequest) -> list[Site]:
    return [site for site in sites_open(request) if site.kind == SiteKind.VAN]


def _van(request: HttpRequest, asked: str) -> Site | None:
    """The van asked for, else the one in hand, else the first."""
    vans = {str(site.pk): site for site in _vans(request)}
    if asked:
        return vans.get(asked)
    here = site_here(request)
    return vans.get(str(here.pk)) or next(iter(vans.values()), None)
