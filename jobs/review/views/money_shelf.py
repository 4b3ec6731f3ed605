"""What the money on the shelves brings, what lies dead in it, and what was not served from it."""

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from inventory.shop.here import site_here
from inventory.shop.roles import Role, role_required
from jobs.review.inputs.stock_money import dead_stock
from jobs.review.inputs.unserved import WORDS, summed, unserved
from jobs.review.period import periods_earned
from jobs.review.shelf import shelf_returns
from jobs.review.tables import DeadTable, ShelfTable, UnservedSumTable, UnservedTable
from jobs.review.views.asked import answer, asked, shown


@require_safe
@role_required(Role.OWNER)
def money_shelf(request: HttpRequest) -> HttpResponse:
    wanted = asked(request, "how")
    how = request.GET.get("how", "")
    (now,) = periods_earned(wanted.span, site=wanted.site, shop=wanted.shop)
    dead = dead_stock(today=site_here(request).today(), site=wanted.site)
    returns = shelf_returns(now, dead, site=wanted.site)
    rows = unserved(
        first=wanted.span.first, last=wanted.span.last, site=wanted.site, shop=wanted.shop
    )
    picked = [row for row in rows if row.how == how]
    context = {
        "page": "shelf",
        "all": returns[-1],
        "returns": ShelfTable(returns, query=wanted.query(), shop=wanted.shop, orderable=False),
        "unserved": UnservedSumTable(
            summed(rows), query=wanted.query(), shop=wanted.shop, orderable=False
        ),
        "rows": shown(request, UnservedTable(picked, shop=wanted.shop)) if how in WORDS else None,
        "how_words": WORDS.get(how),
        "dead": shown(request, DeadTable(dead, shop=wanted.shop, prefix="dead-")),
    }
    return answer(request, "jobs/money_shelf.html", wanted, context)
