from datetime import date, timedelta

import pytest
from django.utils import timezone

from inventory.catalog.models import PartCode
from inventory.ledger.models import Shelf
from inventory.reorder.actions.claims import claim_by_hand, open_claim, send_claim, settle_claim
from inventory.reorder.models import Claim, ClaimStatus
from inventory.shop.models import ShopSettings
from jobs.review.inputs.margins import earned
from jobs.workshop.models import Job
from tests.inventory.reorder.pages import page
from tests.make import make_job, make_part, make_supplier

pytestmark = pytest.mark.django_db

TODAY = date(2026, 3, 20)


@pytest.fixture
def part():
    return make_part(number="QX-4410")


@pytest.fixture
def claim(site, supplier, part):
    return claim_by_hand(
        part,
        supplier=supplier,
        site=site,
        key="c-1",
        by=None,
        failed_on=date(2026, 3, 17),
        fitted_on=date(2025, 6, 2),
        claim_by=TODAY,
        printed_code="4410A",
        odometer_km=88_417,
        job_key="J-77",
    )


def opened(part, supplier, key, **facts):
    return open_claim(
        part, supplier=supplier, key=key, failed_on=date(2026, 3, 1), by=None, **facts
    )


class TestClaimList:
    def test_says_how_many_to_send_and_the_first_day(self, manager, claim):
        text = page(manager, "/claims/")
        assert "1 claim to send, the first by 2026-03-20" in text
        assert "QX-4410" in text
        assert "sealed lithium cell" in text

    def test_those_that_lapse_first_come_first(self, manager, supplier, claim):
        part = make_part(number="RZ-77")
        opened(part, supplier, "c-2", claim_by=TODAY + timedelta(days=1))
        text = page(manager, "/claims/")
        assert text.index("QX-4410") < text.index("RZ-77")

    def test_a_claim_past_its_day_says_so(self, manager, claim):
        Claim.objects.update(claim_by=date(2020, 1, 1))
        assert "over" in page(manager, "/claims/")

    @pytest.mark.parametrize("show", ["sent", "credited", "refused"])
    def test_each_state_has_its_list(self, manager, claim, show):
        assert "QX-4410" not in page(manager, f"/claims/?show={show}")
        if show == "sent":
            send_claim(claim, on=TODAY, by=None)
        else:
            cents = 900 if show == "credited" else 0
            settle_claim(claim, credit_cents=cents, on=TODAY, by=None)
        assert "QX-4410" in page(manager, f"/claims/?show={show}")
        assert "No claim waits to be sent" in page(manager, "/claims/")

    def test_costs_the_same_for_many_claims(self, manager, claim, django_assert_num_queries):
        with django_assert_num_queries(8):
            page(manager, "/claims/")
        for number in range(10):
            opened(make_part(), make_supplier(), f"m-{number}")
        with django_assert_num_queries(8):
            page(manager, "/claims/")


class TestClaimNew:
    def fields(self, supplier, **more):
        return {
            "key": "c-9",
            "part": "4410 x",
            "supplier": supplier.pk,
            "failed_on": "2026-03-17",
        } | more

    def test_lays_the_part_on_the_claim_shelf_once(self, manager, supplier, part):
        code = PartCode(part=part, kind="printed", code="4410-X")
        code.full_clean()
        code.save()
        for _ in range(2):
            answer = manager.post("/claims/new/", self.fields(supplier, printed_code="4410A"))
        assert answer.url == f"/claims/{Claim.objects.get().pk}/"
        assert Shelf.objects.get(part=part).on_hand == 1

    def test_a_refusal_stands_on_the_page(self, manager, supplier, part):
        fields = self.fields(supplier, part="QX-4410", fitted_on="2026-04-01")
        answer = manager.post("/claims/new/", fields)
        assert "cannot have failed on 2026-03-17; correct one of the days." in (
            answer.content.decode()
        )
        assert not Claim.objects.exists()


class TestClaimSend:
    def test_the_parts_leave_the_claim_shelf(self, manager, claim):
        manager.post("/claims/send/", {"claims": [claim.pk]})
        claim.refresh_from_db()
        assert (claim.status, Shelf.objects.get().on_hand) == (ClaimStatus.SENT, 0)

    def test_nothing_ticked_says_what_to_do(self, manager, claim):
        answer = manager.post("/claims/send/")
        assert "No claim is chosen; tick those that go into the box." in answer.content.decode()


class TestClaimDetail:
    def test_tells_all_the_supplier_will_ask(self, manager, claim):
        text = page(manager, f"/claims/{claim.pk}/")
        for words in ("4410A", "88,417 km", "J-77", "2025-06-02", "2026-03-17", "2026-03-20"):
            assert words in text
        assert "on the claim shelf at Quay Street" in text
        assert "sealed lithium cell" in text

    def test_costs_few_queries(self, manager, claim, django_assert_num_queries):
        with django_assert_num_queries(6):
            page(manager, f"/claims/{claim.pk}/")


class TestClaimAnswer:
    def answer(self, client, claim, **fields):
        given = {"answer": "credited", "credit": "21.37", "on": "2026-04-01"}
        return client.post(f"/claims/{claim.pk}/answer/", given | fields)

    def test_a_credit_reaches_the_margin_of_the_job_on_which_it_failed(self, manager, claim, site):
        now = timezone.now()
        make_job(site=site, key="J-77", opened_at=now, closed_at=now, closed_on=now.date())
        before = earned(Job.objects.all(), shop=ShopSettings.load())[0].own
        self.answer(manager, claim)
        after = earned(Job.objects.all(), shop=ShopSettings.load())[0].own
        assert after.margin_cents - before.margin_cents == 2_137
        assert "counted for job J-77" in page(manager, f"/claims/{claim.pk}/")

    def test_a_refusal_has_no_amount(self, manager, claim):
        self.answer(manager, claim, answer="refused", credit="", words="road damage")
        assert "was refused by Blyth Valve Supply" in page(manager, f"/claims/{claim.pk}/")

    @pytest.mark.parametrize(
        ("fields", "words"),
        [
            ({"credit": "0"}, "A credit of 0 is a refusal; give the amount, or say refused."),
            ({"credit": ""}, "A credit needs its amount; give it, or say refused."),
            ({"answer": "refused"}, "A refused claim has no credit; leave the amount blank."),
            ({"on": "2026-03-01"}, "the answer comes on that day or later."),
        ],
    )
    def test_what_does_not_fit_is_said_on_the_page(self, manager, claim, fields, words):
        assert words in self.answer(manager, claim, **fields).content.decode()
        claim.refresh_from_db()
        assert claim.settled_on is None


class TestClaimScrap:
    def test_what_the_supplier_did_not_want_is_scrapped(self, manager, claim):
        settle_claim(claim, credit_cents=900, on=TODAY, by=None)
        assert "did not want it back" in page(manager, f"/claims/{claim.pk}/")
        manager.post(f"/claims/{claim.pk}/scrap/")
        assert Shelf.objects.get().on_hand == 0

    def test_before_the_answer_it_says_so(self, manager, claim):
        answer = manager.post(f"/claims/{claim.pk}/scrap/", follow=True)
        assert "has no answer yet; write down" in answer.content.decode()
