"""What the shop has learned: how long things last, lots that fail early, what advice was worth."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from inventory.catalog.models import Part
from inventory.shop.here import site_here
from inventory.shop.roles import Role, holds
from jobs.review import outcomes
from jobs.review.inputs.laws import shop_laws
from jobs.review.lasting import chosen, lasting
from jobs.review.lots import lot_cars, lots_seen, pieces_of_lot
from jobs.review.roads import roads_taken
from jobs.workshop.models import PieceKind


@require_safe
def lifetime_list(request: HttpRequest) -> HttpResponse:
    families = lasting(shop_laws())
    context = {
        "families": families,
        "early": [one for one in families if one.is_early],
        "shown": chosen(families, request.GET.get("family", "")),
    }
    return render(request, "jobs/lifetime_list.html", context)


@require_safe
def lot_list(request: HttpRequest) -> HttpResponse:
    return render(request, "jobs/lot_list.html", {"seen": lots_seen()})


@require_safe
def lot_detail(request: HttpRequest, pk: int) -> HttpResponse:
    """The vehicles that carry parts of one lot: `pk` is the part, the address names the code."""
    part = get_object_or_404(Part, pk=pk)
    code = request.GET.get("code", "")[:72]
    kind = request.GET.get("kind", PieceKind.BODY)
    seen = lots_seen()
    context = {
        "part": part,
        "code": code,
        "seen": seen,
        "one": next((lot for lot in seen.lots if lot.batch == (part.pk, code, kind)), None),
        "cars": lot_cars(pieces_of_lot(part, code), kind),
        "piece": PieceKind(kind).label if kind in PieceKind.values else "",
        "may_claim": holds(request.user, Role.PARTS_MANAGER),
    }
    return render(request, "jobs/lot_detail.html", context)


@require_safe
def advice_record(request: HttpRequest) -> HttpResponse:
    today = site_here(request).today()
    context = {"record": outcomes.advice_record(today=today), "roads": roads_taken(today=today)}
    return render(request, "jobs/advice_record.html", context)
