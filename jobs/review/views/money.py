"""The owner's page: what the jobs earned, what moved it, where it leaks; and one job's margin."""

from datetime import date, timedelta
from typing import Any
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from inventory.shop.amounts import money_text
from inventory.shop.here import site_here, sites_open
from inventory.shop.models import ShopSettings, Site
from inventory.shop.roles import Role, role_required
from inventory.templatetags.charts import Bar
from inventory.templatetags.charts import Bridge as BridgePicture
from jobs.costing.bridge import Bridge, Cause
from jobs.review.inputs.margins import earned
from jobs.review.period import DAYS_AT_FIRST, GROUPS, PeriodEarned, Span, moved, period_earned
from jobs.workshop.models import Job

CAUSE_WORDS = {
    Cause.VOLUME: "Volume",
    Cause.MIX: "Mix",
    Cause.PRICE: "Price",
    Cause.COST: "Cost",
    Cause.COMEBACKS: "Comebacks",
    Cause.WRITE_OFFS: "Written off",
}
LENGTHS = (7, 30, 90, 365)
LEAKS_SHOWN = 10


@require_safe
@role_required(Role.OWNER)
def money(request: HttpRequest) -> HttpResponse:
    span, site = span_asked(request), site_asked(request)
    by = request.GET.get("by", "work") if request.GET.get("by") in GROUPS else "work"
    now = period_earned(span, site=site)
    before = period_earned(span.before, site=site)
    context = {
        "now": now,
        "before": before,
        "site_asked": site,
        "groups": now.grouped(by),
        "by": by,
        "choices": [(name, words) for name, (words, _) in GROUPS.items()],
        "lengths": lengths(request, span),
        "leaks": now.leaks[:LEAKS_SHOWN],
        "picture": bridge_picture(before, now, ShopSettings.load()),
        "kept": kept(request),
    }
    return render(request, "jobs/money.html", context)


def span_asked(request: HttpRequest) -> Span:
    """The days in the address, else the last thirty of the site in hand."""
    today = site_here(request).today()
    last = day_asked(request, "last") or today
    first = day_asked(request, "first") or last - timedelta(days=DAYS_AT_FIRST - 1)
    return Span(first=min(first, last), last=max(first, last))


def day_asked(request: HttpRequest, name: str) -> date | None:
    try:
        return date.fromisoformat(request.GET.get(name, ""))
    except ValueError:
        return None


def site_asked(request: HttpRequest) -> Site | None:
    asked = request.GET.get("site", "")
    return next((site for site in sites_open(request) if site.code == asked), None)


def lengths(request: HttpRequest, span: Span) -> list[dict[str, Any]]:
    """Links to the same page over the last week, month, quarter and year."""
    found = []
    for days in LENGTHS:
        first = span.last - timedelta(days=days - 1)
        query = {"first": first.isoformat(), "last": span.last.isoformat()}
        address = urlencode({**request.GET.dict(), **query})
        found.append({"days": days, "address": address, "current": days == span.days})
    return found


def kept(request: HttpRequest) -> str:
    """The filter in the address, for links that keep it; grouping apart."""
    return urlencode({name: value for name, value in request.GET.items() if name != "by"})


def bridge_picture(before: PeriodEarned, now: PeriodEarned, shop: ShopSettings) -> BridgePicture:
    found = moved(before, now)
    change = found.after_cents - found.before_cents
    direction = "rose" if change >= 0 else "fell"
    return BridgePicture(
        title=f"Margin {direction} by {money_text(abs(change), shop)} against the days before",
        description=described(found, shop),
        y_label=f"Margin, {shop.currency}",
        start=money_bar("Before", found.before_cents, shop),
        steps=[money_bar(CAUSE_WORDS[cause], cents, shop) for cause, cents in found.bars.items()],
        end=money_bar("Now", found.after_cents, shop),
    )


def money_bar(label: str, cents: int, shop: ShopSettings) -> Bar:
    unit = 10**shop.minor_digits
    return Bar(label=label, value=cents / unit, words=money_text(cents, shop))


def described(found: Bridge, shop: ShopSettings) -> str:
    parts = [
        f"{CAUSE_WORDS[cause].lower()} {money_text(cents, shop)}"
        for cause, cents in found.bars.items()
    ]
    return (
        f"From {money_text(found.before_cents, shop)} to {money_text(found.after_cents, shop)}: "
        f"{', '.join(parts)}."
    )


@require_safe
@role_required(Role.OWNER)
def job_margin(request: HttpRequest, pk: int) -> HttpResponse:
    """One job: each line's price, cost and margin, and the comebacks it carries."""
    job = get_object_or_404(Job.objects.all(), pk=pk)
    one = earned(Job.objects.filter(pk=pk))[0]
    carried = Job.objects.filter(key__in=[*one.charged.comebacks, one.charged.charged_to or ""])
    context = {
        "job": one.job,
        "one": one,
        "carried": carried,
        "bearer": next((other for other in carried if other.key == one.charged.charged_to), None),
        "is_open": job.is_open,
    }
    return render(request, "jobs/job_margin.html", context)
