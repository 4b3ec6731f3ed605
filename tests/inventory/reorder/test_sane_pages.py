"""Whatever a shop's records hold: the plan, its page and the why of the line are figures and words.

Every case goes the whole road: records, a run of the plan, the page of what to order, the page that
says why.
"""

import re
from datetime import UTC, date, datetime, timedelta

import pytest
from lxml import html

from inventory.ledger.actions import log_ask, receive_stock
from inventory.reorder.actions.plan import NEVER_ASKED, NOBODY_OFFERS, run_plan
from inventory.reorder.models import PlanLine
from tests.inventory.reorder.pages import page
from tests.make import make_offer, make_part, make_supplier

pytestmark = pytest.mark.django_db

AS_OF = date(2026, 3, 4)
# What arithmetic or a template shows of a figure that is none.
NONSENSE = re.compile(
    r"\b(nan|inf|infinity|none(?! in )|null)\b|(?<![\d-])-0(\.0+)?(?![\d.-])|\d\.\d{5,}",
    re.IGNORECASE,
)


def noon(days_before):
    return datetime(2026, 3, 4, 12, tzinfo=UTC) - timedelta(days=days_before)


def ask(part, site, days, pieces=1):
    for number, day in enumerate(days):
        key = f"a-{number}-{day}"
        log_ask(part, site=site, pieces=pieces, by=None, key=key, at=noon(day))


def offered(supplier, **fields):
    part = make_part(number="QX-4410", list_price_cents=6_000)
    make_offer(supplier, part, pack_price_cents=2_137, **fields)
    return part


def no_usage(site, supplier):
    part = offered(supplier)
    receive_stock(part, site=site, pieces=1, value_cents=2_137, by=None, key="r-1")
    return part


def one_ask_ever(site, supplier):
    part = offered(supplier)
    ask(part, site, [400])
    return part


def all_on_one_day(site, supplier):
    part = offered(supplier)
    ask(part, site, [30] * 40, pieces=4)
    return part


def supplier_without_deliveries(site, supplier):
    part = offered(supplier)
    ask(part, site, range(0, 700, 7))
    return part


def no_price(site, supplier):
    part = make_part(number="QX-4410", list_price_cents=None)
    make_offer(supplier, part, pack_price_cents=0)
    ask(part, site, range(0, 700, 7))
    return part


def nobody_offers(site, supplier):
    part = make_part(number="QX-4410", list_price_cents=None)
    ask(part, site, range(0, 700, 7))
    return part


def lead_time_of_nothing(site, supplier):
    supplier.stated_lead_days, supplier.order_days = 0, "1234567"
    supplier.save()
    part = offered(supplier)
    ask(part, site, range(0, 700, 7))
    return part


def forty_thousand_a_week(site, supplier):
    part = offered(supplier)
    ask(part, site, range(0, 140, 7), pieces=40_000)
    return part


CASES = {
    no_usage: (NEVER_ASKED, "Nothing to order"),
    one_ask_ever: ("", "Nothing to order|Order 1 line"),
    all_on_one_day: ("", "Nothing to order|Order 1 line"),
    supplier_without_deliveries: ("", "Order 1 line from 1 supplier"),
    no_price: ("", "Order 1 line from 1 supplier"),
    nobody_offers: (NOBODY_OFFERS, "Order 1 line|1 line that no supplier offers"),
    lead_time_of_nothing: ("", "Order 1 line from 1 supplier"),
    forty_thousand_a_week: ("", "Order 1 line from 1 supplier"),
}


def said(text):
    """The words of a page, each piece of text apart from its neighbour."""
    main = html.fromstring(text).xpath("//main")[0]
    return " ".join(" ".join(main.itertext()).split())


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.__name__)
class TestEveryCase:
    def test_is_a_sane_line_and_two_pages_that_say_why(self, case, manager, site):
        site.asks_logged_from = date(2020, 1, 1)
        site.save()
        part = case(site, make_supplier(name="Blyth Valve Supply", stated_lead_days=3))
        words, headline = CASES[case]
        run = run_plan(as_of=AS_OF, by=None)
        line = PlanLine.objects.get(run=run, part=part, site=site)
        if words:
            assert line.words == words
        detail = said(page(manager, "/plan/"))
        assert re.search(headline, detail), detail[:200]
        why = page(manager, f"/plan/lines/{line.pk}/why/")
        assert len(html.fromstring(why).xpath("//main//p")) >= 3
        for told in (detail, said(why)):
            found = NONSENSE.search(told)
            assert not found, found and told[max(0, found.start() - 60) : found.end() + 60]
