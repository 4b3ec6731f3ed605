"""The desk by hand: each person does what they came for, in a real browser."""

from datetime import timedelta

import pytest
from django.utils import timezone

from inventory.catalog.models import Part
from inventory.ledger.actions import log_ask
from inventory.reorder.actions.plan import run_plan
from inventory.reorder.models import Order
from inventory.shop.models import Change
from jobs.workshop.actions.jobs import open_job
from jobs.workshop.actions.lines import issue_part_for_job
from jobs.workshop.models import Job
from tests.browser.hands import DESK, PHONE, reads_well
from tests.make import make_offer, make_supplier

pytestmark = pytest.mark.browser


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


class TestSunday:
    def test_money_why_shelf_and_one_price_on_a_phone(self, shop, signed_in):
        self.sold(shop, price_cents=4200)
        given_away = self.sold(shop, price_cents=0)
        page = signed_in("owner", home_site=shop["site"])
        page.set_viewport_size(PHONE)
        self.see_what_lost(page, given_away)
        self.look_at_the_shelves(page)
        self.raise_a_price(page, shop["body"])
        assert Part.objects.get(pk=shop["body"].pk).list_price_cents == 4600
        changed = Change.objects.of(shop["body"]).latest("pk")
        prices = changed.before["list_price_cents"], changed.after["list_price_cents"]
        assert prices == (4200, 4600)

    def see_what_lost(self, page, given_away):
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

    def look_at_the_shelves(self, page):
        page.get_by_role("link", name="Money", exact=True).click()
        page.get_by_role("link", name="Shelves").click()
        # 32 pieces at 19.37 came, two bodies went.
        assert (
            page.get_by_role("heading", level=1).inner_text().startswith("$581.10 on the shelves")
        )
        reads_well(page)

    def raise_a_price(self, page, body):
        page.get_by_role("link", name="Prices").click()
        page.get_by_role("link", name=body.number).first.click()
        page.get_by_role("link", name="Change data and codes").click()
        page.get_by_label("List price").fill("46.00")
        page.get_by_role("button", name="Save the part").click()
        page.get_by_text(f"{body.number} is saved.").wait_for()
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
