"""Every page of the site is accessible, fits a phone, and works by day and by night."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse

from inventory.catalog.names import names
from tests.make import make_application, make_fitment, make_part, make_site

pytestmark = pytest.mark.browser

SIZES = ((360, 740), (390, 844), (820, 1180), (1440, 900))


@pytest.fixture
def addresses(transactional_db):
    names.forget()
    application = make_application(trim="LX", relearn="drive", relearn_steps="Drive.")
    part = make_part(number="AB-12", mounting="clamp_in", list_price_cents=4990)
    wrong = make_part(number="AB-13", band_433=False, band_315=True)
    for chosen in (part, wrong):
        make_fitment(application, chosen)
    make_fitment(make_application(trim="GT"), make_part(number="AB-14"))
    yield [
        reverse("today"),
        reverse("change_password"),
        reverse("search") + "?q=ab",
        reverse("search") + "?q=nothing+like+it",
        reverse("fit"),
        reverse("fit") + "?make=Merow",
        reverse("fit") + "?make=Merow&model=Lista&year=2014",
        reverse("fit") + "?make=Merow&model=Lista&year=2014&trim=?",
        reverse("fit_answer", args=[application.pk]),
        reverse("inventory:part_detail", args=[part.pk]),
    ]
    names.forget()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_pages(addresses, signed_in, live_server, scheme):
    page = signed_in("owner", home_site=make_site(name="Mill Road"))
    page.emulate_media(color_scheme=scheme)
    for address in addresses:
        page.goto(live_server.url + address)
        for width, height in SIZES:
            page.set_viewport_size({"width": width, "height": height})
            assert page.evaluate("document.documentElement.scrollWidth") <= width, address
        results = Axe().run(page)
        assert results.violations_count == 0, f"{address}\n{results.generate_report()}"


def test_log_in_is_accessible(page, live_server, transactional_db):
    page.goto(live_server.url + reverse("log_in"))
    results = Axe().run(page)
    assert results.violations_count == 0, results.generate_report()
