"""The part page: what a part is, what it fits, where it lies; and what replaces it."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from inventory.catalog.actions.fitments import end_supersession, supersede_part
from inventory.catalog.models import Application, Part, Supersession
from inventory.catalog.prices import customer_prices
from inventory.catalog.spans import reaches
from inventory.catalog.stand_ins import reached_instead, stand_ins
from inventory.reorder.forms.parts import SupersedeForm
from inventory.reorder.models import PlanLine
from inventory.shop.here import site_here
from inventory.shop.roles import Role, holds, role_required

WITH_ALL = (
    "codes",
    "pieces__piece",
    "wholes__whole",
    "superseded_by__new",
    "supersedes__old",
    "shelves__site",
)


@require_safe
def part_detail(request: HttpRequest, pk: int) -> HttpResponse:
    part = get_object_or_404(Part.objects.prefetch_related(*WITH_ALL), pk=pk)
    site, sees_cost = site_here(request), holds(request.user, Role.PARTS_MANAGER)
    context = {
        "part": part,
        "price_cents": customer_prices([part], on=site.today())[part.pk],
        "reaches": reaches(Application.objects.filter(fitments__part=part).distinct()),
        "reaches_instead": reaches(reached_instead(part)),
        "stand_ins": stand_ins(part),
        "plan_line": PlanLine.objects.last_of(part, site) if sees_cost else None,
    }
    return render(request, "inventory/part_detail.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@role_required(Role.PARTS_MANAGER)
def part_supersede(request: HttpRequest, pk: int) -> HttpResponse:
    part = get_object_or_404(Part, pk=pk)
    form = SupersedeForm(request.POST if request.method == "POST" else None)
    if form.is_valid():
        link = form.submit(supersede_part, part, by=request.user, **form.cleaned_data)
        if link:
            messages.success(request, f"{link.new} is offered wherever {part} is listed.")
            return redirect("inventory:part_detail", pk)
    links = Supersession.objects.filter(old=part).select_related("new")
    context = {"part": part, "form": form, "links": links}
    return render(request, "inventory/part_supersede.html", context)


@require_POST
@role_required(Role.PARTS_MANAGER)
def supersession_end(request: HttpRequest, pk: int) -> HttpResponse:
    link = get_object_or_404(Supersession.objects.select_related("old", "new"), pk=pk)
    end_supersession(link, by=request.user)
    messages.success(request, f"{link.new} is no longer offered in place of {link.old}.")
    return redirect("inventory:part_supersede", link.old_id)
