"""The wifi of the bay fails in the middle of a posting: it stays in the page and counts once."""

import pytest
from django.urls import reverse
from playwright.sync_api import Route, expect

from inventory.ledger.audit import audit
from inventory.ledger.models import Posting, Shelf
from jobs.workshop.actions.jobs import open_job
from jobs.workshop.models import Reading
from tests.make import (
    PASSWORD,
    make_application,
    make_part,
    make_site,
    make_stock,
    make_vehicle,
    make_wheels,
)

pytestmark = pytest.mark.browser

PHONE = {"width": 390, "height": 844}
PIECES = 8
SCAN = """texts => {
    const code = document.querySelector("main input[name=code]");
    for (const text of texts) {
        code.value = text;
        code.form.requestSubmit();
    }
}"""
SCAN_AFTER_THE_ANSWER = """texts => {
    const code = document.querySelector("main input[name=code]");
    const scan = (text) => {
        code.value = text;
        code.form.requestSubmit();
    };
    scan(texts[0]);
    const looking = setInterval(() => {
        if (code.form.hasAttribute("aria-busy")) return;
        clearInterval(looking);
        scan(texts[1]);
    }, 20);
}"""
NO_NETWORK = ("Failed to load resource", "htmx:sendError")


@pytest.fixture
def kit(transactional_db):
    part = make_part("kit", number="KT-1")
    make_stock(part, make_site(name="Quay"), pieces=PIECES)
    return part


@pytest.fixture
def shelf(kit, signed_in, live_server, complaints):
    """The shelf page on a phone; the console may say that the network failed, and nothing else."""
    page = signed_in(username="piet", home_site=Shelf.objects.get().site)
    page.set_viewport_size(PHONE)
    page.goto(live_server.url + reverse("inventory:part_shelf", args=[kit.pk]))
    yield page
    complaints[:] = [said for said in complaints if not said.startswith(NO_NETWORK)]


@pytest.fixture
def scan(shelf, live_server):
    """The page that issues a piece for each code scanned."""
    make_stock(make_part("kit", number="KT-2"), Shelf.objects.get().site, pieces=PIECES)
    shelf.goto(live_server.url + reverse("inventory:scan_issue"))
    return shelf


def bar(page):
    return page.locator("#unsent")


def issue(page, pieces=2):
    page.get_by_label("Pieces").first.fill(str(pieces))
    page.get_by_role("button", name="Issue", exact=True).click()


def lose_first_answer(page, address):
    """The server gets the posting and answers; the answer never gets to the page."""
    lost: list[int] = []

    def handle(route):
        if lost:
            return route.continue_()
        lost.append(route.fetch().status)
        return route.abort()

    page.route(address, handle)
    return lost


def posts(its):
    return its.request.method == "POST"


def issued_once(page, pieces=2):
    expect(page.get_by_role("heading", level=1)).to_contain_text(f"{PIECES - pieces} free")
    assert bar(page).get_by_role("status").inner_text() == ""
    assert Posting.objects.filter(kind="issued").count() == 1
    assert Shelf.objects.get().on_hand == PIECES - pieces
    assert audit() == []


class TestCut:
    def test_a_posting_that_never_arrived_is_sent_when_the_wifi_is_back(self, shelf):
        shelf.context.set_offline(True)
        issue(shelf)
        expect(bar(shelf)).to_contain_text(
            "“Issue” is not sent yet. It is sent when the wifi is back."
        )
        assert Shelf.objects.get().on_hand == PIECES
        # It is out of reach now: what is sent again is what was sent.
        assert shelf.get_by_label("Pieces").first.evaluate("field => field.matches('[inert] *')")
        shelf.context.set_offline(False)
        issued_once(shelf)

    def test_a_posting_whose_answer_was_lost_is_sent_again_and_counts_once(self, shelf):
        lost = lose_first_answer(shelf, "**/issue/")
        issue(shelf)
        expect(bar(shelf)).to_contain_text("“Issue” is not sent yet. Sending it again.")
        assert lost == [200]
        assert Shelf.objects.get().on_hand == PIECES - 2
        issued_once(shelf)

    def test_after_two_failures_a_person_sends_it_by_a_key(self, shelf):
        shelf.route("**/issue/", lambda route: route.abort())
        issue(shelf)
        again = bar(shelf).get_by_role("button", name="Send again")
        expect(again).to_be_focused()
        shelf.keyboard.press("Enter")
        expect(bar(shelf)).to_contain_text(
            "“Issue” is not sent. Look at the wifi, then send it again."
        )
        shelf.unroute("**/issue/")
        shelf.keyboard.press("Enter")
        issued_once(shelf)

    def test_an_access_point_that_hangs_is_noticed(self, shelf):
        held: list[Route] = []
        shelf.route("**/issue/", lambda route: route.continue_() if held else held.append(route))
        shelf.evaluate("document.getElementById('unsent').dataset.seconds = 0.3")
        issue(shelf)
        expect(bar(shelf)).to_contain_text("is not sent yet. Sending it again.")
        shelf.evaluate("document.getElementById('unsent').dataset.seconds = 15")
        bar(shelf).get_by_role("button", name="Send again").click()
        issued_once(shelf)

    def test_an_answer_that_is_not_the_planners_acknowledges_nothing(self, shelf):
        page_of_the_cafe = {"status": 200, "content_type": "text/html", "body": "Accept our terms"}
        shelf.route("**/issue/", lambda route: route.fulfill(**page_of_the_cafe))
        issue(shelf)
        expect(bar(shelf)).to_contain_text("is not sent yet")
        shelf.unroute("**/issue/")
        bar(shelf).get_by_role("button", name="Send again").click()
        issued_once(shelf)

    def test_a_planner_that_fails_is_not_called_bad_wifi(self, shelf):
        failed = {"status": 500, "headers": {"X-Leads-To": ""}, "body": "Server error"}
        shelf.route("**/issue/", lambda route: route.fulfill(**failed))
        issue(shelf)
        expect(bar(shelf)).to_contain_text(
            "“Issue” is not written down. The planner itself failed. "
            "Send it again; if it stays so, tell whoever runs it."
        )
        shelf.unroute("**/issue/")
        bar(shelf).get_by_role("button", name="Send again").click()
        issued_once(shelf)

    def test_only_a_page_with_something_unsent_holds_one_back(self, shelf, live_server):
        asked = []

        def stay(dialog):
            asked.append(dialog.type)
            dialog.dismiss()

        shelf.on("dialog", stay)
        shelf.context.set_offline(True)
        issue(shelf)
        expect(bar(shelf)).to_contain_text("is not sent yet")
        shelf.get_by_role("link", name="Today").click()
        assert asked == ["beforeunload"]
        shelf.context.set_offline(False)
        issued_once(shelf)
        shelf.get_by_role("link", name="Today").click()
        shelf.wait_for_url(live_server.url + "/")
        assert asked == ["beforeunload"]

    def test_readings_of_a_job_are_written_down_once(self, signed_in, live_server, complaints):
        vehicle = make_vehicle(make_application(), plate="GULL 42")
        make_wheels(vehicle)
        job = open_job(vehicle, site=make_site(), kind="sensor")
        page = signed_in(home_site=job.site)
        page.goto(live_server.url + reverse("jobs:job_detail", args=[job.pk]))
        lose_first_answer(page, "**/read/")
        page.locator("fieldset.reading").first.get_by_label("Silent").check()
        page.get_by_role("button", name="The rest answered: write down").click()
        expect(bar(page)).to_contain_text("is not sent yet")
        with page.expect_navigation():
            bar(page).get_by_role("button", name="Send again").click()
        heard = Reading.objects.filter(job=job).values_list("heard", flat=True)
        assert sorted(heard) == ["answered", "answered", "answered", "silent"]
        complaints.clear()

    def test_comes_back_to_a_card_whatever_it_is_called(self, signed_in, live_server):
        vehicle = make_vehicle(make_application(), plate="GULL 42")
        make_wheels(vehicle)
        job = open_job(vehicle, site=make_site(), kind="sensor")
        page = signed_in(home_site=job.site)
        page.goto(live_server.url + reverse("jobs:job_detail", args=[job.pk]))
        form = page.locator("form[action$='/read/']")
        form.evaluate("""form => form.setAttribute("aria-label", 'Wheels of 16" and more')""")
        with page.expect_navigation():
            page.get_by_role("button", name="The rest answered: write down").click()
        assert Reading.objects.filter(job=job).count() == 4


class TestLoggedOut:
    def test_what_was_typed_is_sent_after_logging_in_again(self, shelf, live_server):
        shelf.context.clear_cookies(name="sessionid")
        issue(shelf)
        expect(bar(shelf)).to_contain_text(
            "“Issue” is not sent. You are logged out. "
            "Log in, come back to this page and send it again."
        )
        with shelf.context.expect_page() as opened:
            bar(shelf).get_by_role("link", name="Log in").click()
        other = opened.value
        other.get_by_label("Name").fill("piet")
        other.get_by_label("Password").fill(PASSWORD)
        other.get_by_role("button", name="Log in").click()
        other.wait_for_url(live_server.url + "/")
        bar(shelf).get_by_role("button", name="Send again").click()
        issued_once(shelf)


class TestBack:
    def test_what_is_sent_after_going_back_is_a_posting_of_its_own(self, shelf):
        with shelf.expect_navigation():
            issue(shelf, pieces=2)
        shelf.go_back()
        with shelf.expect_navigation():
            issue(shelf, pieces=3)
        expect(shelf.get_by_role("heading", level=1)).to_contain_text("3 free")
        assert Shelf.objects.get().on_hand == 3


class TestSending:
    def test_what_is_scanned_while_the_next_page_is_on_its_way_counts_too(self, scan, live_server):
        held: list[Route] = []
        scan.route(scan.url, lambda at: at.continue_() if held or posts(at) else held.append(at))
        with scan.expect_request(lambda its: its.is_navigation_request()):
            scan.evaluate(SCAN_AFTER_THE_ANSWER, ["KT-1", "KT-2"])
        # The page looks every 20 ms whether it was answered, and scans then.
        scan.wait_for_timeout(500)
        held[0].continue_()
        expect(scan.locator("#running ~ ul")).to_contain_text("1 piece of KT-2")
        assert [shelf.on_hand for shelf in Shelf.objects.all()] == [PIECES - 1, PIECES - 1]

    def test_a_form_that_was_refused_says_so_and_is_not_called_unsent(self, shelf):
        issue(shelf, pieces=99)
        expect(shelf.get_by_role("alert")).to_contain_text(f"Only {PIECES} of")
        assert bar(shelf).get_by_role("status").inner_text() == ""
        assert shelf.get_by_label("Pieces").first.input_value() == "99"
        issue(shelf, pieces=2)
        issued_once(shelf)

    def test_a_search_without_an_answer_says_so_until_one_comes(self, shelf):
        shelf.context.set_offline(True)
        shelf.get_by_role("searchbox").press_sequentially("KT")
        expect(bar(shelf)).to_contain_text("The planner did not answer. Look at the wifi")
        shelf.context.set_offline(False)
        shelf.get_by_role("searchbox").press_sequentially("-1")
        expect(bar(shelf).get_by_role("status")).to_have_text("")

    def test_pressing_twice_posts_once(self, shelf):
        shelf.get_by_label("Pieces").first.fill("2")
        button = shelf.get_by_role("button", name="Issue", exact=True)
        with shelf.expect_navigation():
            button.evaluate("button => { button.click(); button.click(); }")
        issued_once(shelf)

    def test_what_is_scanned_faster_than_the_page_comes_counts_piece_by_piece(self, scan):
        scan.evaluate(SCAN, ["KT-1", "KT-1", "KT-2", "3"])
        expect(scan.locator("#running ~ ul")).to_contain_text("2 pieces of KT-2")
        assert [shelf.on_hand for shelf in Shelf.objects.all()] == [PIECES - 2, PIECES - 3]

    def test_what_is_scanned_behind_an_unknown_code_is_named_and_not_sent(self, scan):
        scan.evaluate(SCAN, ["KT-9", "KT-2"])
        expect(bar(scan)).to_contain_text("Came too fast and not sent: “KT-2”. Do it again.")
        assert [shelf.on_hand for shelf in Shelf.objects.all()] == [PIECES, PIECES]

    def test_a_code_that_could_not_be_sent_stands_in_its_box(self, scan):
        scan.context.set_offline(True)
        scan.evaluate(SCAN, ["KT-1"])
        expect(bar(scan)).to_contain_text("is not sent yet")
        assert scan.locator("main input[name=code]").input_value() == "KT-1"
        scan.context.set_offline(False)
        expect(scan.locator("#running ~ ul")).to_contain_text("1 piece of KT-1")

    def test_without_javascript_the_form_is_an_ordinary_one(self, shelf, live_server):
        plain = shelf.context.browser.new_context(java_script_enabled=False, viewport=PHONE)
        plain.add_cookies(shelf.context.cookies())
        page = plain.new_page()
        page.goto(shelf.url)
        with page.expect_navigation():
            issue(page)
        expect(page.get_by_role("heading", level=1)).to_contain_text(f"{PIECES - 2} free")
        assert Shelf.objects.get().on_hand == PIECES - 2
        plain.close()
