"""What each part earns, now and as last offered; what price bands would have earned."""

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from inventory.catalog.models import PartKind
from inventory.shop.here import site_here
from inventory.shop.models import ShopSettings
from inventory.shop.roles import Role, role_required
from jobs.review.band_form import AIM_PERCENT, BandForm, first_values
from jobs.review.bands import FIRST_BANDS, band_previews
from jobs.review.inputs.part_money import part_money
from jobs.review.period import periods_earned
from jobs.review.tables import BandTable, PriceTable
from jobs.review.views.asked import answer, asked, shown

# A year of jobs, so that every season is in it.
DAYS = 365


@require_safe
@role_required(Role.OWNER)
def money_prices(request: HttpRequest) -> HttpResponse:
    wanted = asked(request, days=DAYS)
    form = band_form(request, wanted.shop)
    said = form.is_valid()
    bands = form.bands() if said else FIRST_BANDS
    aim = form.cleaned_data["aim"] if said else AIM_PERCENT
    kind = request.GET.get("kind") if request.GET.get("kind") in PartKind else ""
    (now,) = periods_earned(wanted.span, site=wanted.site, shop=wanted.shop)
    previews = band_previews(now.jobs, bands)
    parts = part_money(on=site_here(request).today(), margin_percent=aim, kind=kind or "")
    context = {
        "page": "prices",
        "form": form,
        "aim": aim,
        "all": previews[-1],
        "kind": kind,
        "kinds": [("", "All kinds"), *PartKind.choices],
        "kept": kept(request),
        "previews": BandTable(previews, shop=wanted.shop, orderable=False),
        "parts": shown(request, PriceTable(parts, shop=wanted.shop)),
    }
    return answer(request, "jobs/money_prices.html", wanted, context)


def band_form(request: HttpRequest, shop: ShopSettings) -> BandForm:
    """What the address says; where it says nothing, the first values, so that it is never empty."""
    return BandForm(first_values(shop) | request.GET.dict(), shop=shop)


def kept(request: HttpRequest) -> str:
    """All of the address but the kind and the page of the list."""
    query = request.GET.copy()
    for name in ("kind", "page"):
        query.pop(name, None)
    return query.urlencode()
