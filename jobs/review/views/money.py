"""The owner's page: what the jobs earned, what moved it, where it leaks; and the jobs behind it."""

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_safe

from inventory.shop.amounts import money_text
from inventory.shop.models import ShopSettings
from inventory.shop.roles import Role, role_required
from inventory.templatetags.charts import Bar
from inventory.templatetags.charts import Bridge as BridgePicture
from jobs.costing.bridge import Bridge, Cause
from jobs.review.columns import MoneyTable, address
from jobs.review.groups import GROUPS, Group, grouped
from jobs.review.inputs.margins import earned
from jobs.review.moved import cause_moved
from jobs.review.period import PeriodEarned, moved, periods_earned
from jobs.review.tables import (
    BridgeTable,
    GroupTable,
    JobTable,
    LeftTable,
    LineTable,
    MovedTable,
    ServiceDataTable,
    WriteOffTable,
)
from jobs.review.views.asked import Asked, answer, asked, saved, shown
from jobs.workshop.models import Job

CAUSE_WORDS = {
    Cause.VOLUME: "Volume",
    Cause.MIX: "Mix",
    Cause.PRICE: "Price",
    Cause.COST: "Cost",
    Cause.COMEBACKS: "Comebacks",
    Cause.WRITE_OFFS: "Written off",
    Cause.SERVICE_DATA: "Service data",
}
LEAKS_SHOWN = 10


@require_safe
@role_required(Role.OWNER)
def money(request: HttpRequest) -> HttpResponse:
    wanted, by = asked(request, "by"), by_asked(request)
    before, now = periods_earned(wanted.other, wanted.span, site=wanted.site, shop=wanted.shop)
    found = moved(before, now)
    steps, left = bridge_steps(found, wanted), left_steps(now, wanted)
    context = {
        "now": now,
        "before": before,
        "table": shown(request, group_table(now, by, wanted)),
        "by": by,
        "by_line": GROUPS[by].lines is not None,
        "choices": [(name, grouping.words) for name, grouping in GROUPS.items()],
        "leaks": now.leaks[:LEAKS_SHOWN],
        "picture": bridge_picture(found, steps, wanted.shop),
        "steps": steps,
        "left": left,
        "left_table": LeftTable(left, shop=wanted.shop, orderable=False),
        "bridge": BridgeTable(steps, shop=wanted.shop, orderable=False),
        "page": "money",
    }
    return answer(request, "jobs/money.html", wanted, context)


def by_asked(request: HttpRequest) -> str:
    by = request.GET.get("by", "")
    return by if by in GROUPS else "work"


def group_table(now: PeriodEarned, by: str, wanted: Asked) -> GroupTable:
    return GroupTable(
        grouped(now.jobs, by),
        words=GROUPS[by].words,
        query=wanted.query(by=by),
        shop=wanted.shop,
    )


def bridge_steps(found: Bridge, wanted: Asked) -> list[dict[str, Any]]:
    """Before, each bar and now, with where it opens."""
    bars = [
        {"label": CAUSE_WORDS[cause], "cents": cents, "to": moved_address(cause, wanted)}
        for cause, cents in bars_shown(found)
    ]
    before = {"label": "Before", "cents": found.before_cents, "to": f"?{wanted.before_kept}"}
    after_address = address("jobs:money_jobs", wanted.query())
    return [before, *bars, {"label": "Now", "cents": found.after_cents, "to": after_address}]


def left_steps(now: PeriodEarned, wanted: Asked) -> list[dict[str, Any]]:
    """What the jobs left and what came off it, with where each opens; they sum to what is left."""
    return [
        {
            "label": "The jobs",
            "cents": now.jobs_cents,
            "to": address("jobs:money_jobs", wanted.query()),
        },
        {
            "label": "Written off",
            "cents": -now.write_offs_cents,
            "to": moved_address(Cause.WRITE_OFFS, wanted),
        },
        {
            "label": "Service data",
            "cents": -now.service_data.cents,
            "to": moved_address(Cause.SERVICE_DATA, wanted),
        },
    ]


def bars_shown(found: Bridge) -> list[tuple[Cause, int]]:
    """All bars; that of service data only where it moved, which it does not for as many days."""
    return [(of, cents) for of, cents in found.bars.items() if cents or of != Cause.SERVICE_DATA]


def bridge_picture(found: Bridge, steps: list[dict[str, Any]], shop: ShopSettings) -> BridgePicture:
    unit = 10**shop.minor_digits
    bars = [
        Bar(
            label=step["label"],
            value=step["cents"] / unit,
            words=money_text(step["cents"], shop),
            href=step["to"],
        )
        for step in steps
    ]
    change = found.after_cents - found.before_cents
    direction = "rose" if change >= 0 else "fell"
    return BridgePicture(
        title=f"Margin {direction} by {money_text(abs(change), shop)}",
        description=described(found, shop),
        y_label=f"Margin, {shop.currency}",
        start=bars[0],
        steps=bars[1:-1],
        end=bars[-1],
    )


def moved_address(cause: Cause, wanted: Asked) -> str:
    return address("jobs:money_moved", wanted.query(cause=str(cause)))


def described(found: Bridge, shop: ShopSettings) -> str:
    parts = [
        f"{CAUSE_WORDS[cause].lower()} {money_text(cents, shop)}"
        for cause, cents in bars_shown(found)
    ]
    return (
        f"From {money_text(found.before_cents, shop)} to {money_text(found.after_cents, shop)}: "
        f"{', '.join(parts)}."
    )


@require_safe
@role_required(Role.OWNER)
def money_jobs(request: HttpRequest) -> HttpResponse:
    """The jobs behind a figure, or all of these days."""
    wanted, by = asked(request, "by", "is"), by_asked(request)
    (now,) = periods_earned(wanted.span, site=wanted.site, shop=wanted.shop)
    group = group_asked(request, now, by)
    context = {
        "group": group,
        "grouped_by": GROUPS[by].words,
        "table": shown(request, JobTable(group.portions, shop=wanted.shop)),
        "back": address("jobs:money", wanted.query(by=by)),
        "page": "jobs",
    }
    return answer(request, "jobs/money_jobs.html", wanted, context)


def group_asked(request: HttpRequest, now: PeriodEarned, by: str) -> Group:
    """The group that the address names; all jobs as one where it names none."""
    if "is" not in request.GET:
        return Group.of_all(now.jobs)
    named = [group for group in grouped(now.jobs, by) if group.key == request.GET["is"]]
    return named[0] if named else Group.of_all(())


@require_safe
@role_required(Role.OWNER)
def money_moved(request: HttpRequest) -> HttpResponse:
    """One bar of the bridge, by kind of work: each opens its jobs, now and before."""
    wanted = asked(request, "cause")
    cause = cause_asked(request)
    before, now = periods_earned(wanted.other, wanted.span, site=wanted.site, shop=wanted.shop)
    context = {
        "cause": cause,
        "cause_words": CAUSE_WORDS[cause],
        "choices": [
            (other, words, moved_address(other, wanted)) for other, words in CAUSE_WORDS.items()
        ],
        "cents": moved(before, now).bars[cause],
        "table": shown(request, moved_table(cause, before, now, wanted)),
        "back": reverse("jobs:money") + f"?{wanted.kept}",
        "before_address": f"{reverse('jobs:money_jobs')}?{wanted.before_kept}",
        "page": "moved",
    }
    return answer(request, "jobs/money_moved.html", wanted, context)


def cause_asked(request: HttpRequest) -> Cause:
    try:
        return Cause(request.GET.get("cause", Cause.VOLUME))
    except ValueError:
        raise Http404("The margin was not moved by that; choose one of the bars.") from None


def moved_table(cause: Cause, before: PeriodEarned, now: PeriodEarned, wanted: Asked) -> MoneyTable:
    if cause == Cause.WRITE_OFFS:
        return WriteOffTable((*now.write_offs, *before.write_offs), shop=wanted.shop)
    if cause == Cause.SERVICE_DATA:
        return ServiceDataTable((now, before), shop=wanted.shop)
    if cause == Cause.COMEBACKS:
        charged = [one for one in (*now.jobs, *before.jobs) if one.charged.charged_to]
        return JobTable(Group.of_all(charged).portions, shop=wanted.shop)
    rows = cause_moved(cause, before, now)
    return MovedTable(rows, query=wanted.query(), shop=wanted.shop)


@require_safe
@role_required(Role.OWNER)
def job_margin(request: HttpRequest, pk: int) -> HttpResponse:
    """One job: each line's price, cost and margin, and the comebacks it carries."""
    job, shop = get_object_or_404(Job.objects.all(), pk=pk), ShopSettings.load()
    one = earned(Job.objects.filter(pk=pk), shop=shop)[0]
    lines = LineTable(one.lines, shop=shop, orderable=False)
    if request.GET.get("as") == "workbook":
        return saved([lines], filtered=f"Job {job}.", name=f"job_{job.pk}.xlsx")
    carried = Job.objects.filter(key__in=[*one.charged.comebacks, one.charged.charged_to or ""])
    context: dict[str, Any] = {
        "job": job,
        "shop": shop,
        "one": one,
        "lines": lines,
        "save": "as=workbook",
        "carried": carried,
        "bearer": next((other for other in carried if other.key == one.charged.charged_to), None),
        "is_open": job.is_open,
    }
    return render(request, "jobs/job_margin.html", context)
