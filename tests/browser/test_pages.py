"""Every page of the site is accessible, fits a phone, and works by day and by night."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse

from inventory.catalog.models import Application
from inventory.catalog.names import names
from inventory.reorder.actions.plan import run_plan
from inventory.reorder.models import PlanLine
from inventory.shop.models import Site
from shopparts.people import join_path
from tests.addresses import own_addresses
from tests.make import make_application, make_fitment, make_part
from tests.one_of_each import one_of_each, path_of
from tests.test_names import methods

pytestmark = pytest.mark.browser

NOT_SIGNED_IN = {"log_in", "first_owner", "join", "health"}
SIZES = ((360, 740), (390, 844), (820, 1180), (1440, 900))
# Shares of the screen that moved while a page was loading, as the browser itself adds them up.
SHIFTED = """() => new Promise(told => {
    let sum = 0;
    const seen = new PerformanceObserver(list => {
        for (const shift of list.getEntries()) sum += shift.value;
    });
    seen.observe({type: "layout-shift", buffered: true});
    requestAnimationFrame(() => setTimeout(() => told(sum)));
})"""
# "Good" is 0.1 or less (web.dev, Cumulative Layout Shift; from memory). Ours load as they stay.
MOST_SHIFTED = 0.02


@pytest.fixture
def shop(transactional_db):
    names.forget()
    all_of_it = one_of_each()
    part, site = all_of_it["parts"], all_of_it["people"]["owner"].home_site
    run = run_plan(as_of=site.today(), by=None)
    yield all_of_it | {"plan": PlanLine.objects.get(run=run, part=part, site=site).pk}
    names.forget()


@pytest.fixture
def addresses(shop):
    """Every page there is, and those that show more when more is asked for."""
    for trim in ("LX", "GT"):
        number = f"AB-{trim}"
        make_fitment(make_application(model="Vasto", trim=trim), make_part(number=number))
    wrong = make_part(number="AB-13", band_433=False, band_315=True)
    make_fitment(Application.objects.get(pk=shop["fit"]), wrong)
    pages = [a for a in own_addresses() if "GET" in methods(a) and a.name not in NOT_SIGNED_IN]
    vasto = reverse("fit") + "?make=Merow&model=Vasto&year=2014"
    return [
        *(path_of(address, shop) for address in pages),
        join_path(shop["people"]["technician"]),
        reverse("search") + "?q=ab",
        reverse("search") + "?q=nothing+like+it",
        reverse("fit") + "?make=Merow",
        vasto,
        vasto + "&trim=?",
        reverse("inventory:shelf_list") + "?q=ab",
        reverse("inventory:part_shelf", args=[shop["parts"]]) + f"?done={shop['postings']}",
    ]


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_pages(shop, addresses, signed_in, live_server, scheme):
    page = signed_in("owner", home_site=Site.objects.get(pk=shop["people"]["owner"].home_site_id))
    page.emulate_media(color_scheme=scheme)
    for address in addresses:
        page.goto(live_server.url + address)
        assert page.evaluate(SHIFTED) < MOST_SHIFTED, address
        for width, height in SIZES:
            page.set_viewport_size({"width": width, "height": height})
            assert page.evaluate("document.documentElement.scrollWidth") <= width, address
        results = Axe().run(page)
        assert results.violations_count == 0, f"{address}\n{results.generate_report()}"


def test_a_page_that_jumps_is_noticed(page, live_server, transactional_db):
    page.goto(live_server.url + reverse("log_in"))
    page.evaluate("document.querySelector('main').style.marginTop = '300px'")
    assert page.evaluate(SHIFTED) > MOST_SHIFTED


def test_log_in_is_accessible(page, live_server, transactional_db):
    page.goto(live_server.url + reverse("log_in"))
    results = Axe().run(page)
    assert results.violations_count == 0, results.generate_report()
