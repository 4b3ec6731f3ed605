"""A technician with five cars in an hour, on a phone, in a bay with bad wifi."""

import pytest
from playwright.sync_api import expect

from inventory.ledger.audit import audit
from inventory.ledger.models import Shelf
from jobs.workshop.actions.jobs import close_job
from jobs.workshop.models import Fitted, Job, WheelId
from tests.browser.hands import PHONE, find, open_a_job, press, reads_well
from tests.make import make_stock, make_vehicle, make_wheels

pytestmark = pytest.mark.browser

CHECKS = ("All pressures set cold", "Wheel nuts tightened", "Driven, and the lamp")
TIRE_CHANGES = ("GULL 43", "GULL 44", "GULL 45", "GULL 46")
CUT_AT = "GULL 44"


class TestFiveCars:
    def test_a_dead_sensor_and_four_tire_changes_with_the_wifi_cut_in_one(
        self, shop, signed_in, complaints
    ):
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
        self.change_tires(page, shop)
        complaints[:] = [said for said in complaints if not said.startswith("Failed to load")]

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
        page.get_by_role("heading", name="Read the sensors").click()
        page.locator("fieldset.reading").first.get_by_label("Answered", exact=True).check()
        press(page.get_by_role("button", name="The rest answered: write down"))
        page.get_by_label("Lamp after a restart").select_option("off")
        for tick in CHECKS:
            page.get_by_label(tick).check()
        press(page.get_by_role("button", name="Close the job"))
        assert page.get_by_role("heading", level=1).inner_text().endswith("closed")
        assert not Job.objects.get().is_open
        body = Fitted.objects.now().get(wheel=shop["wheels"][0], kind="body")
        assert body.part in {shop["body"], shop["assembly"]}
        assert WheelId.objects.filter(wheel=shop["wheels"][0], sensor_id="A1B2C3").exists()
        reads_well(page)

    def change_tires(self, page, shop):
        """Two taps each; the planner's answer to one of them is lost on its way."""
        make_stock(shop["kit"], shop["site"], pieces=16)
        kits = Shelf.objects.get(part=shop["kit"])
        application = shop["vehicle"].application
        for plate in TIRE_CHANGES:
            make_wheels(make_vehicle(application, plate=plate))
            find(page, plate)
            press(page.get_by_role("button", name="Open a tire change"))
            if plate == CUT_AT:
                page.route("**/change-tires/", lose_the_answer, times=1)
            page.get_by_role("button", name="Same on all four").click()
            if plate == CUT_AT:
                expect(page.locator("#unsent")).to_contain_text(
                    "“Same on all four” is not sent yet. Sending it again."
                )
                page.get_by_role("button", name="Send again").click()
            page.get_by_text("on all four, every sensor answered").wait_for()
            page.get_by_role("link", name="Nothing is missing: close the job").click()
            press(page.get_by_role("button", name="Close the job"))
            expect(page.get_by_role("heading", level=1)).to_contain_text("closed")
        reads_well(page)
        assert Shelf.objects.get(part=shop["kit"]).on_hand == kits.on_hand - 16
        assert Job.objects.exclude(closed_at=None).count() == 1 + len(TIRE_CHANGES)
        assert audit() == []


def lose_the_answer(route):
    route.fetch()
    route.abort()


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
