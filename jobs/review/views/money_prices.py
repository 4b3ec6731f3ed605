"""What each part earns, now and as last offered; what price bands would have earned."""

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from inventory.catalog.models import PartKind
from inventory.shop.here import site_here
from inventory.shop.models import ShopSettings
from inventory.shop.roles import Role, role_required
from jobs.costing.prices import PriceBand
from jobs.review.band_form import LEAST_AIM, MOST_AIM, BandForm, first_values
from jobs.review.bands import band_previews, bands_as_charged
from jobs.review.inputs.part_money import part_money
from jobs.review.period import PeriodEarned, periods_earned
from jobs.review.tables import BandTable, PriceTable
from jobs.review.views.asked import answer, asked, shown

# A year of jobs, so that every season is in it.
DAYS = 365


@require_safe
@role_required(Role.OWNER)
def money_prices(request: HttpRequest) -> HttpResponse:
    wanted = asked(request, days=DAYS)
    (now,) = periods_earned(wanted.span, site=wanted.site, shop=wanted.shop)
    form, bands, aim = typed(request, now, wanted.shop)
    kind = request.GET.get("kind") if request.GET.get("kind") in PartKind else ""
    previews = band_previews(now.jobs, bands)
    parts = part_money(
        on=site_here(request).today(),
        margin_percent=aim,
        kind=kind or "",
        tax_per_mille=wanted.shop.tax_in_prices_per_mille,
    )
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


def typed(
    request: HttpRequest, now: PeriodEarned, shop: ShopSettings
) -> tuple[BandForm, list[PriceBand], int]:
    """The bands and the aim of the address; what it does not say is as the parts were charged."""
    charged = bands_as_charged(now.jobs)
    share = band_previews(now.jobs, charged)[-1].share
    aim = round(100 * (share or 0))
    form = BandForm(first_values(charged, aim, shop) | request.GET.dict(), shop=shop)
    if not form.is_valid():
        return form, charged, min(max(aim, LEAST_AIM), MOST_AIM)
    return form, form.bands(), form.cleaned_data["aim"]


def kept(request: HttpRequest) -> str:
    """All of the address but the kind and the page of the list."""
    query = request.GET.copy()
    for name in ("kind", "page"):
        query.pop(name, None)
    return query.urlencode()
