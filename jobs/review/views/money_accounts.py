"""What each account earns, whether its rules were kept, and which of its vehicles are due."""

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from inventory.shop.here import site_here
from inventory.shop.models import Site
from inventory.shop.roles import Role, role_required
from jobs.review.accounts import accounts_earned, rules_broken, vehicles_due
from jobs.review.inputs.laws import shop_laws
from jobs.review.period import periods_earned
from jobs.review.tables import AccountTable, BrokenTable, DueTable
from jobs.review.views.asked import Asked, answer, asked, shown
from jobs.workshop.models import Account

DAYS = 365


@require_safe
@role_required(Role.OWNER)
def money_accounts(request: HttpRequest) -> HttpResponse:
    wanted = asked(request, "account", days=DAYS)
    (now,) = periods_earned(wanted.span, site=wanted.site, shop=wanted.shop)
    broken = rules_broken(now)
    rows = accounts_earned(now, broken)
    account = account_asked(request)
    context = {
        "page": "accounts",
        "accounts": rows,
        "margin_cents": sum(row.margin_cents for row in rows),
        "account": account,
        "table": AccountTable(rows, query=wanted.query(), shop=wanted.shop, orderable=False),
        "broken": shown(request, BrokenTable(broken, shop=wanted.shop, prefix="rule-")),
        "due": shown(request, due_table(account, site_here(request), wanted)) if account else None,
    }
    return answer(request, "jobs/money_accounts.html", wanted, context)


def due_table(account: Account, site: Site, wanted: Asked) -> DueTable:
    rows = vehicles_due(account, site.today(), shop_laws())
    return DueTable(rows, shop=wanted.shop, prefix="due-")


def account_asked(request: HttpRequest) -> Account | None:
    named = request.GET.get("account", "")
    return Account.objects.filter(pk=named).first() if named.isdecimal() else None
