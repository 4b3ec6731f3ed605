"""A new shop by keyboard alone: from the address in the terminal to the first plan."""

import pytest
from axe_playwright_python.sync_playwright import Axe

from inventory.catalog.names import names
from inventory.reorder.models import PlanLine
from shopparts.first_run import first_owner_path
from shopparts.models import Run
from shopparts.page_help import PAGES
from shopparts.runs.tasks import work_on
from tests.make import make_site

pytestmark = pytest.mark.browser

MOST_STOPS = 80
DESK, PHONE = {"width": 1440, "height": 900}, {"width": 390, "height": 844}


@pytest.fixture(autouse=True)
def _names():
    names.forget()
    yield
    names.forget()


class Keys:
    """A page worked by Tab, letters and Enter; nothing is clicked."""

    def __init__(self, page):
        self.page = page

    def reach(self, locator):
        """Walk there by Tab, so that a stop that cannot be reached fails."""
        for _ in range(MOST_STOPS):
            if locator.evaluate("stop => stop === document.activeElement"):
                return
            self.page.keyboard.press("Tab")
        raise AssertionError(f"Tab does not reach {locator} on {self.page.url}")

    def type(self, **said):
        """Fill fields by the name they are sent under, in the order of the page."""
        for name, text in said.items():
            field = self.page.locator(f"main [name={name}]:not([type=hidden])").first
            self.reach(field)
            if field.evaluate("field => field.matches('[type=checkbox]')"):
                self.page.keyboard.press("Space")
                continue
            if not field.evaluate("field => field.matches('select, [type=date]')"):
                self.page.keyboard.press("Control+A")
            self.page.keyboard.type(text)

    def press(self, name):
        self.reach(self.page.locator("main").get_by_role("button", name=name, exact=True).first)
        self.page.keyboard.press("Enter")
        self.page.wait_for_load_state()

    def follow(self, name):
        self.reach(self.page.locator("main").get_by_role("link", name=name, exact=True).first)
        with self.page.expect_navigation():
            self.page.keyboard.press("Enter")

    def says(self, words):
        self.page.get_by_text(words).first.wait_for(timeout=10_000)

    def headed(self, words):
        self.page.get_by_role("heading", level=1, name=words, exact=True).wait_for(timeout=10_000)

    def today(self):
        self.reach(self.page.get_by_role("navigation").get_by_role("link", name="Today"))
        with self.page.expect_navigation():
            self.page.keyboard.press("Enter")

    def next_step(self, words):
        """The step that Today names as the next one, and its main action."""
        self.today()
        self.page.locator("main a.act", has_text=words).wait_for(timeout=10_000)
        reads_well(self.page)
        self.follow(words)


def reads_well(page):
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        results = Axe().run(page)
        assert results.violations_count == 0, f"{page.url}\n{results.generate_report()}"
    for size in (PHONE, DESK):
        page.set_viewport_size(size)
        width = page.evaluate("document.documentElement.scrollWidth")
        assert width <= size["width"], page.url


@pytest.mark.django_db(transaction=True)
class TestFirstHour:
    def test_from_the_address_to_the_first_plan(self, page, live_server, complaints):
        keys = Keys(page)
        page.set_viewport_size(DESK)
        page.goto(live_server.url + first_owner_path())
        reads_well(page)
        self.make_the_account(keys)
        self.say_how_the_shop_works(keys)
        self.list_a_part(keys)
        self.list_a_vehicle(keys)
        self.receive_it(keys)
        self.name_a_supplier(keys)
        self.plan(keys)
        assert complaints == []

    def make_the_account(self, keys):
        password = {"password1": "kelp-and-gravel-22", "password2": "kelp-and-gravel-22"}
        keys.type(shop_name="Saltmarsh Wheel and Tire", site_name="Harbor Street")
        keys.type(zone="America/New_York", username="ruth", first_name="Ruth", **password)
        keys.press("Make the account")
        keys.page.wait_for_url("**/first-hour/")
        reads_well(keys.page)
        keys.headed("0 of 8 steps to the first plan are done")

    def say_how_the_shop_works(self, keys):
        keys.follow("Fill in the settings")
        reads_well(keys.page)
        keys.type(tax_per_mille="7", labour_price_cents="118.50", labour_cost_cents="45")
        keys.press("Save the settings")
        keys.page.wait_for_url("**/first-hour/")
        keys.says("An hour of labour sells at $118.50 and costs $45.00.")

    def list_a_part(self, keys):
        keys.next_step("Bring in a workbook")
        keys.today()
        keys.follow("Add one by hand")
        reads_well(keys.page)
        keys.type(number="SW-433", kind="Sensor body", list_price_cents="42", band_433="yes")
        keys.press("Add the part")
        keys.says("SW-433 is listed.")
        reads_well(keys.page)

    def list_a_vehicle(self, keys):
        keys.next_step("Add a vehicle")
        keys.type(make="Merow", model="Lista", year_from="2013", year_to="2016", band="433")
        keys.press("Add it, then its parts")
        keys.type(part="sw 433")
        keys.press("List this part")
        keys.says("is listed.")

    def receive_it(self, keys):
        keys.next_step("Receive the first part")
        keys.reach(keys.page.locator("form[action$='/receive/'] [name=pieces]"))
        keys.page.keyboard.press("Control+A")
        keys.page.keyboard.type("6")
        keys.page.keyboard.press("Tab")
        keys.page.keyboard.type("126")
        keys.press("Receive")
        keys.headed("6 free at Harbor Street")

    def name_a_supplier(self, keys):
        keys.next_step("Add a supplier")
        keys.type(code="CVS", name="Corrow Valve Supply")
        keys.press("Save")
        keys.next_step("Write an offer")
        keys.type(part="SW-433", pack="4", price="84")
        keys.press("Write the offer")
        keys.says("Corrow Valve Supply offers SW-433.")

    def plan(self, keys):
        keys.next_step("Plan now")
        keys.press("Plan now")
        keys.page.wait_for_url("**/runs/*/")
        work_on(Run.objects.get(), worker="w1")
        keys.page.wait_for_selector("text=What to order")
        keys.follow("What to order")
        reads_well(keys.page)
        assert PlanLine.objects.get().part.number == "SW-433"
        keys.today()
        assert keys.page.get_by_role("heading", name="First hour").count() == 0


class TestAboutPage:
    def test_opens_by_its_key_and_on_a_phone_without_scripts(self, signed_in, browser, live_server):
        page = signed_in("technician", home_site=make_site())
        about = page.locator("details.about")
        page.locator("main").focus()
        page.keyboard.press("?")
        assert about.get_by_text(PAGES["today"][0]).is_visible()
        page.keyboard.press("Escape")
        assert not about.get_by_text(PAGES["today"][0]).is_visible()
        page.emulate_media(media="print")
        assert not about.is_visible()
        plain = browser.new_page(viewport=PHONE, java_script_enabled=False)
        plain.goto(live_server.url + "/log-in/")
        plain.locator("details.about summary").click()
        shown = plain.locator("details.about .float").bounding_box()
        assert shown["x"] >= 0
        assert shown["x"] + shown["width"] <= PHONE["width"]
        plain.close()
