"""The part page: what a part is, what it fits, what it is made of, where it lies."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from inventory.catalog.models import Application, Part
from inventory.catalog.prices import customer_prices
from inventory.catalog.spans import reaches
from inventory.shop.here import site_here

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
    site = site_here(request)
    context = {
        "part": part,
        "price_cents": customer_prices([part], on=site.today())[part.pk],
        "reaches": reaches(Application.objects.filter(fitments__part=part).distinct()),
    }
    return render(request, "inventory/part_detail.html", context)
