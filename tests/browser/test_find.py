"""From the search box to the part, as a technician does it."""

import contextlib

import pytest
from django.urls import reverse
from playwright.sync_api import Error

from inventory.catalog.names import names
from tests.make import make_application, make_fitment, make_part, make_site

pytestmark = pytest.mark.browser


@pytest.fixture
def shop(transactional_db):
    names.forget()
    site = make_site(name="Mill Road")
    for trim in ("LX", "GT"):
        application = make_application(trim=trim)
        make_fitment(application, make_part(number=f"FOR-{trim}", mounting="clamp_in"))
    yield site
    names.forget()


class TestFind:
    def test_results_appear_as_one_types_and_three_taps_reach_the_part(
        self, shop, signed_in, live_server
    ):
        page = signed_in(home_site=shop)
        page.keyboard.press("/")
        page.keyboard.type("14 merwo lsta")
        hit = page.locator("#found a").first
        hit.wait_for()
        assert "2014 Merow Lista" in hit.inner_text()
        page.keyboard.press("ArrowDown")
        page.keyboard.press("Enter")
        page.get_by_role("heading", name="Which trim?").wait_for()
        page.get_by_role("link", name="GT").click()
        page.get_by_role("link", name="FOR-GT").wait_for()
        assert page.get_by_role("link", name="FOR-LX").count() == 0

    def test_a_slow_answer_never_overwrites_a_fast_one(self, shop, signed_in, live_server):
        page = signed_in(home_site=shop)
        held = []

        def slow_first(route):
            if "q=for-l" in route.request.url.lower() and "lx" not in route.request.url.lower():
                held.append(route)
            else:
                route.continue_()

        page.route("**/search/?*", slow_first)
        box = page.get_by_role("searchbox")
        box.press_sequentially("for-l", delay=10)
        page.wait_for_timeout(400)
        assert held, "the first request was never sent"
        box.press_sequentially("x")
        page.locator("#found a").first.wait_for()
        for route in held:
            # The browser may have given the request up already; then nobody takes the answer.
            with contextlib.suppress(Error):
                route.fulfill(body="<p>the slow answer</p>")
        page.wait_for_timeout(300)
        assert "FOR-LX" in page.locator("#found").inner_text()
        assert "the slow answer" not in page.locator("#found").inner_text()

    def test_escape_closes_and_enter_opens_the_page_of_all(self, shop, signed_in, live_server):
        page = signed_in(home_site=shop)
        box = page.get_by_role("searchbox")
        box.fill("for")
        page.locator("#found a").first.wait_for()
        page.keyboard.press("Escape")
        assert page.locator("#found a").count() == 0
        box.fill("for")
        page.keyboard.press("Enter")
        page.wait_for_url(f"**{reverse('search')}?q=for")
        page.get_by_role("heading", name="2 found for “for”").wait_for()
