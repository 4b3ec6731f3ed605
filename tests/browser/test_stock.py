"""A count of thirty bins by scanner while a second browser goes on issuing from them."""

import pytest
from django.urls import reverse

from inventory.ledger.actions import start_count
from inventory.ledger.audit import audit
from inventory.ledger.models import CountLine, Shelf
from tests.make import PASSWORD, make_bin, make_part, make_site, make_stock, make_user

pytestmark = pytest.mark.browser

BINS, PIECES = 30, 10
PHONE = {"width": 360, "height": 740}


class Scanner:
    """A keyboard wedge: it types a code where the cursor is, ends with Enter, and is counted."""

    def __init__(self, page):
        self.page, self.scans = page, 0

    def __call__(self, code):
        # The cursor stands in the one input by itself.
        self.page.locator("main input:focus").wait_for()
        with self.page.expect_navigation():
            self.page.keyboard.type(str(code))
            self.page.keyboard.press("Enter")
        self.scans += 1


@pytest.fixture
def second_browser(page, live_server, transactional_db):
    """Another person's browser, signed in."""
    context = page.context.browser.new_context(viewport=PHONE)

    def log_in(**fields):
        person = make_user(**fields)
        other = context.new_page()
        other.goto(live_server.url + reverse("log_in"))
        other.get_by_label("Name").fill(person.username)
        other.get_by_label("Password").fill(PASSWORD)
        other.get_by_role("button", name="Log in").click()
        other.wait_for_url(live_server.url + "/")
        return other

    yield log_in
    context.close()


def test_count_while_the_bay_issues(signed_in, second_browser, live_server):
    site = make_site(name="Quay")
    bins = [make_bin(site, code=f"A-{number}") for number in range(BINS)]
    kits = [make_part("kit", number=f"KT-{number:02}") for number in range(BINS)]
    for kit, bin in zip(kits, bins, strict=True):
        make_stock(kit, site, pieces=PIECES, bin=bin)
    sheet = start_count(site, title="All bins", bins=bins, by=None, key="count")
    page = signed_in("parts_manager", home_site=site)
    page.set_viewport_size(PHONE)
    bay = second_browser(home_site=site)
    bay.goto(live_server.url + reverse("inventory:scan_issue"))
    page.goto(live_server.url + reverse("inventory:count_sheet", args=[sheet.pk]))
    count, issue = Scanner(page), Scanner(bay)
    there = dict.fromkeys(kits, PIECES)

    def take(kit):
        issue(kit.number)
        there[kit] -= 1

    for number, kit in enumerate(kits):
        if number % 3 == 0:
            take(kit)
        count(kit.number)
        if number % 3 == 1:
            take(kit)
        # One piece of the last part is missing: nobody wrote down who took it.
        there[kit] -= number == BINS - 1
        count(there[kit])
        if number % 3 == 2:
            take(kit)

    assert count.scans == 2 * BINS
    assert page.get_by_text("1 piece fewer than the ledger says").is_visible()
    page.get_by_role("button", name=f"Correct to {there[kits[-1]] + 1}").click()
    page.get_by_role("button", name="Close this count").click()
    page.wait_for_url("**/counts/")
    assert {shelf.part: shelf.on_hand for shelf in Shelf.objects.select_related("part")} == there
    assert [line.difference for line in CountLine.objects.exclude(difference=0)] == [-1]
    assert audit() == []
