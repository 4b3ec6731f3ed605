"""How often jobs come back, by action, maker or technician; why, and who paid."""

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from inventory.shop.roles import Role, role_required
from jobs.costing.rates import rate
from jobs.review.comebacks import body_or_assembly, by_cause
from jobs.review.groups import GROUPS, NO_PART, grouped
from jobs.review.period import PeriodEarned, periods_earned
from jobs.review.tables import CauseTable, RateTable, StemAgeTable
from jobs.review.views.asked import Asked, answer, asked, shown

# A year: comebacks are few, and come late.
DAYS = 365
WAYS = ("action", "maker", "technician", "work", "supplier", "site")


@require_safe
@role_required(Role.OWNER)
def money_comebacks(request: HttpRequest) -> HttpResponse:
    wanted = asked(request, "by", days=DAYS)
    by = request.GET.get("by") if request.GET.get("by") in WAYS else WAYS[0]
    (now,) = periods_earned(wanted.span, site=wanted.site, shop=wanted.shop)
    compared = body_or_assembly(now.jobs)
    bearing = [one for one in now.jobs if not one.charged.charged_to]
    context = {
        "page": "comebacks",
        "by": by,
        "choices": [(name, GROUPS[name].words) for name in WAYS],
        "all": rate(sum(1 for one in bearing if one.charged.comebacks), len(bearing)),
        "lost_cents": -sum(one.charged.comebacks_cents for one in bearing),
        "table": shown(request, rate_table(now, str(by), wanted)),
        "causes": CauseTable(
            by_cause(now.jobs), query=wanted.query(), shop=wanted.shop, orderable=False
        ),
        "ratio": compared.ratio,
        "ages": StemAgeTable(compared.by_age, shop=wanted.shop, orderable=False),
    }
    return answer(request, "jobs/money_comebacks.html", wanted, context)


def rate_table(now: PeriodEarned, by: str, wanted: Asked) -> RateTable:
    groups = [group for group in grouped(now.jobs, by) if group.key != NO_PART[0]]
    groups.sort(key=lambda group: -group.came_back.happened)
    return RateTable(groups, words=GROUPS[by].words, query=wanted.query(by=by), shop=wanted.shop)
