"""One working day by hand: each person does what they came for, in a real browser."""

from datetime import date, timedelta

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.utils import timezone

from inventory.catalog.names import names
from inventory.ledger.actions import log_ask
from inventory.ledger.models import Shelf
from inventory.reorder.actions.plan import run_plan
from inventory.reorder.models import Order
from inventory.shop.models import ShopSettings
from jobs.workshop.actions.jobs import close_job, open_job
from jobs.workshop.actions.lines import issue_part_for_job
from jobs.workshop.models import Fitted, Job, WheelId
from tests.browser.hands import press
from tests.make import (
    make_application,
    make_fitment,
    make_offer,
    make_part,
    make_site,
    make_stock,
    make_supplier,
    make_vehicle,
    make_wheels,
)

pytestmark = pytest.mark.browser

PHONE = {"width": 390, "height": 844}
DESK = {"width": 1440, "height": 900}


@pytest.fixture
def shop(transactional_db):
    """A two-piece clamp-in vehicle, and everything for it on the shelf."""
    names.forget()
    settings = ShopSettings(pk=1, labour_price_cents=9000, labour_cost_cents=4500)
    settings.save()
    site = make_site(name="Quay", asks_logged_from=date(2020, 1, 1))
    application = make_application()
    parts = {
        kind: make_part(kind, number=f"T-{kind}", list_price_cents=price, construction="two_piece")
        for kind, price in (("body", 4200), ("stem", 1200), ("kit", 400), ("assembly", 4900))
    }
    for part in parts.values():
        make_fitment(application, part)
        make_stock(part, site, pieces=8, value_cents=8 * 1937)
    vehicle = make_vehicle(application, plate="GULL 42", in_service_on=date(2017, 5, 1))
    wheels = make_wheels(vehicle)
    yield {"site": site, "vehicle": vehicle, "wheels": wheels, **parts}
    names.forget()


def reads_well(page):
    """Nothing for axe to complain of by day or by night, and nothing wider than the screen."""
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        results = Axe().run(page)
        assert results.violations_count == 0, f"{page.url}\n{results.generate_report()}"
    width = page.viewport_size["width"]
    assert page.evaluate("document.documentElement.scrollWidth") <= width, page.url


def find(page, plate):
    page.get_by_role("searchbox").fill(plate)
    page.get_by_role("searchbox").press("Enter")
    page.wait_for_load_state()
    if "/vehicles/" not in page.url:
        page.get_by_role("link", name=plate).first.click()
    page.wait_for_url("**/vehicles/*/")


def open_a_job(page, kind):
    page.get_by_label("Kind").select_option(label=kind)
    page.get_by_role("button", name="Open the job").click()
    page.wait_for_url("**/jobs/*/")


class TestSensorJob:
    def test_from_the_lamp_to_the_road(self, shop, signed_in):
        page = signed_in("technician", home_site=shop["site"])
        page.set_viewport_size(PHONE)
        find(page, "GULL 42")
        reads_well(page)
        page.get_by_label("Lamp as it came in").select_option("flashes")
        open_a_job(page, "Sensor job")
        reads_well(page)
        self.read(page)
        wheel = page.get_by_role("article", name="Front left")
        assert wheel.locator(".advised").inner_text().startswith("Replace the")
        assert "silent after 2 tries" in wheel.locator(".advised + p").inner_text()
        assert wheel.locator(".caution").is_visible()
        assert "Read the new sensor before it is mounted." in wheel.text_content()
        for other in ("Front right", "Rear left", "Rear right"):
            told = page.get_by_role("article", name=other).locator(".facts").inner_text()
            assert "Answered" in told
        reads_well(page)
        self.do(page, wheel)
        self.close(page, shop)

    def read(self, page):
        first = page.locator("fieldset.reading").first
        first.get_by_label("Silent").check()
        first.get_by_text("Pressure, id, battery").click()
        first.get_by_label("Tries").fill("2")
        for other in page.locator("fieldset.reading").all()[1:]:
            other.get_by_text("Pressure, id, battery").click()
            other.get_by_label("The vehicle knows this id").select_option("yes")
        press(page.get_by_role("button", name="The rest answered: write down"))
        # What was heard steps aside for what to do.
        assert not page.locator("fieldset.reading").first.is_visible()

    def do(self, page, wheel):
        wheel.get_by_label("Id of the new sensor").fill("00A1B2C3")
        press(wheel.locator("button.act"))
        assert page.get_by_text("written down.").is_visible()
        assert Shelf.objects.filter(on_hand=7).exists()
        reads_well(page)

    def close(self, page, shop):
        # The new sensor answers now; the last reading counts.
        page.get_by_text("Read the sensors").click()
        page.locator("fieldset.reading").first.get_by_label("Answered", exact=True).check()
        press(page.get_by_role("button", name="The rest answered: write down"))
        page.get_by_label("Lamp after a restart").select_option("off")
        for tick in ("All pressures set cold", "Wheel nuts tightened", "Driven, and the lamp"):
            page.get_by_label(tick).check()
        press(page.get_by_role("button", name="Close the job"))
        assert page.get_by_role("heading", level=1).inner_text().endswith("closed")
        assert not Job.objects.get().is_open
        body = Fitted.objects.now().get(wheel=shop["wheels"][0], kind="body")
        assert body.part in {shop["body"], shop["assembly"]}
        assert WheelId.objects.filter(wheel=shop["wheels"][0], sensor_id="A1B2C3").exists()
        reads_well(page)


class TestDecline:
    def test_is_shown_when_the_vehicle_comes_again(self, shop, signed_in):
        page = signed_in("technician", home_site=shop["site"])
        page.set_viewport_size(PHONE)
        find(page, "GULL 42")
        open_a_job(page, "Sensor job")
        page.locator("summary", has_text="Declined").click()
        page.get_by_label("What was declined").select_option("body")
        page.get_by_label("Why", exact=True).fill("sells it in spring")
        press(page.get_by_role("button", name="Write down the decline"))
        assert page.get_by_text("sells it in spring").is_visible()
        close_job(Job.objects.get(), reason="nothing was done")
        find(page, "GULL 42")
        open_a_job(page, "Tire change")
        before = page.get_by_role("region", name="Declined at an earlier visit")
        assert "sells it in spring" in before.inner_text()
        reads_well(page)


class TestTireChange:
    def test_takes_two_taps(self, shop, signed_in):
        page = signed_in("technician", home_site=shop["site"])
        page.set_viewport_size(PHONE)
        find(page, "GULL 42")
        open_a_job(page, "Tire change")
        press(page.get_by_role("button", name="Same on all four"))
        assert page.get_by_text("on all four, every sensor answered").is_visible()
        assert Shelf.objects.get(part=shop["kit"]).on_hand == 4
        reads_well(page)


class TestOrdering:
    def test_from_the_plan_to_a_draft(self, shop, signed_in):
        supplier = make_supplier(name="Corrow Valve Supply")
        make_offer(supplier, shop["kit"], pack_price_cents=213)
        self.used(shop)
        run_plan(as_of=timezone.now().date(), by=None)
        page = signed_in("parts_manager", home_site=shop["site"])
        page.set_viewport_size(DESK)
        page.get_by_role("link", name="to order").click()
        page.get_by_role("link", name="why").first.click()
        page.wait_for_selector("svg.chart")
        reads_well(page)
        page.get_by_role("button", name="Draft these").first.click()
        page.wait_for_url("**/orders/*/")
        heading = page.get_by_role("heading", level=1).inner_text()
        assert heading == "Order 1 line from Corrow Valve Supply"
        assert page.get_by_role("row", name="T-kit").is_visible()
        assert Order.objects.drafts().get().supplier == supplier
        reads_well(page)

    def used(self, shop):
        """Four kits every other day for a year, and few left."""
        now = timezone.now()
        for day in range(0, 360, 2):
            at = now - timedelta(days=day + 1)
            key = f"ask-{day}"
            log_ask(shop["kit"], site=shop["site"], pieces=4, by=None, key=key, at=at)


class TestMoney:
    def test_from_the_week_to_the_job_that_lost(self, shop, signed_in):
        self.sold(shop, price_cents=4200)
        given_away = self.sold(shop, price_cents=0)
        page = signed_in("owner", home_site=shop["site"])
        page.set_viewport_size(DESK)
        # 42.00 charged for two bodies that cost 19.37 each.
        page.get_by_role("link", name="$3.26").click()
        assert "earned from 2 jobs" in page.get_by_role("heading", level=1).inner_text()
        reads_well(page)
        page.get_by_role("link", name="Technician").click()
        row = page.get_by_role("row", name="Nobody named").inner_text().split()
        assert {"2", "42.00", "38.74", "3.26"} <= set(row)
        page.get_by_role("region", name="Where it leaks").get_by_role("link").click()
        assert page.get_by_role("heading", level=1).inner_text() == (
            f"Job {given_away.key} left −$19.37"
        )
        assert page.get_by_role("cell", name="19.37").first.is_visible()
        reads_well(page)

    def sold(self, shop, price_cents):
        """A job that fitted one body for this much, and is closed."""
        job = open_job(shop["vehicle"], site=shop["site"], kind="sensor")
        issue_part_for_job(
            job, part=shop["body"], by=None, key=job.key, action="body", price_cents=price_cents
        )
        now = {"closed_at": timezone.now(), "closed_on": shop["site"].today()}
        Job.objects.filter(pk=job.pk).update(**now)
        return job
