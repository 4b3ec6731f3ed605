from datetime import date

import pytest
from django.core.exceptions import ValidationError

from inventory.ledger.actions import Occasion, take_off_car
from inventory.ledger.models import Posting, PostingKind, Shelf
from inventory.reorder.actions.claims import (
    claim_by_hand,
    months_after,
    open_claim,
    scrap_claimed,
    send_claim,
    send_claims,
    settle_claim,
    waiting_lots,
    warranty_end,
)
from inventory.reorder.models import Claim, ClaimStatus
from inventory.shop.models import Change
from tests.make import make_offer, make_part, make_site, make_supplier

pytestmark = pytest.mark.django_db


def claim_of(part, supplier, key="c-1", **facts):
    return open_claim(
        part, supplier=supplier, key=key, failed_on=date(2026, 3, 17), by=None, **facts
    )


class TestOpenClaim:
    def test_says_until_when_the_warranty_holds(self):
        part, supplier = make_part(), make_supplier()
        make_offer(supplier, part, warranty_months=24, valid_from=date(2024, 1, 1))
        claim = claim_of(part, supplier, fitted_on=date(2024, 5, 31))
        assert claim.claim_by == date(2026, 5, 31)

    def test_twice_opens_once(self):
        part, supplier = make_part(), make_supplier()
        assert claim_of(part, supplier) == claim_of(part, supplier)
        assert Claim.objects.count() == 1

    def test_refuses_a_failure_before_the_fitting(self):
        with pytest.raises(ValidationError) as refused:
            claim_of(make_part(number="QX-1"), make_supplier(), fitted_on=date(2026, 4, 1))
        assert refused.value.messages == [
            "QX-1 was fitted on 2026-04-01 and cannot have failed on 2026-03-17; "
            "correct one of the days."
        ]


class TestWarrantyEnd:
    def test_without_a_warranty_there_is_none(self):
        part, supplier = make_part(), make_supplier()
        make_offer(supplier, part)
        assert warranty_end(supplier, part, date(2026, 1, 1)) is None


class TestMonthsAfter:
    def test_a_short_month_ends_on_its_last_day(self):
        # Counted by hand on a calendar: 2024 is a leap year, 2025 is not.
        assert months_after(date(2023, 8, 31), 6) == date(2024, 2, 29)
        assert months_after(date(2023, 8, 31), 18) == date(2025, 2, 28)
        assert months_after(date(2023, 12, 15), 1) == date(2024, 1, 15)


class TestClaimByHand:
    def test_lays_the_part_on_the_claim_shelf_once(self):
        part, site = make_part(), make_site()
        for _ in range(2):
            claim = claim_by_hand(
                part,
                supplier=make_supplier(),
                site=site,
                key="c-7",
                failed_on=date(2026, 3, 17),
                by=None,
            )
        shelf = Shelf.objects.get()
        assert (shelf.on_hand, shelf.usable, Claim.objects.count()) == (1, 0, 1)
        assert waiting_lots(claim).get().cents_left == 0

    def test_a_part_that_is_not_counted_has_no_shelf(self):
        part = make_part(kind="core", counted="not")
        claim_by_hand(
            part,
            supplier=make_supplier(),
            site=make_site(),
            key="c-7",
            failed_on=date(2026, 3, 17),
            by=None,
        )
        assert not Shelf.objects.exists()


class TestWaitingLots:
    def test_are_of_the_part_and_the_job(self):
        part, site = make_part(), make_site()
        for number in (1, 2):
            occasion = Occasion(words=f"J-{number}", on=date(2026, 3, 17))
            take_off_car(part, site=site, by=None, key=f"off-{number}", occasion=occasion)
        claim = claim_of(part, make_supplier(), job_key="J-2")
        assert waiting_lots(claim).get().came_from == "J-2"


class TestSendClaims:
    def test_two_of_one_job_leave_the_shelf_together(self):
        part, site, supplier = make_part(), make_site(), make_supplier()
        claims = []
        for number in (1, 2):
            occasion = Occasion(words="J-1", on=date(2026, 3, 17))
            take_off_car(part, site=site, by=None, key=f"off-{number}", occasion=occasion)
            claims.append(claim_of(part, supplier, key=f"c-{number}", job_key="J-1"))
        for _ in range(2):
            sent = send_claims(claims, on=date(2026, 3, 20), by=None)
        assert [claim.status for claim in sent] == [ClaimStatus.SENT, ClaimStatus.SENT]
        assert Shelf.objects.get().on_hand == 0
        assert Posting.objects.filter(kind=PostingKind.TO_SUPPLIER).count() == 2

    def test_refuses_an_empty_box(self):
        with pytest.raises(ValidationError) as refused:
            send_claims([], on=date(2026, 3, 20), by=None)
        assert refused.value.messages == ["No claim is chosen; tick those that go into the box."]


class TestScrapClaimed:
    def waiting(self):
        return claim_by_hand(
            make_part(),
            supplier=make_supplier(),
            site=make_site(),
            key="c-1",
            failed_on=date(2026, 3, 17),
            by=None,
        )

    def test_takes_a_settled_part_off_the_shelf_once(self):
        claim = settle_claim(self.waiting(), credit_cents=900, on=date(2026, 4, 1), by=None)
        for _ in range(2):
            scrap_claimed(claim, by=None)
        assert Shelf.objects.get().on_hand == 0
        assert Posting.objects.get(kind=PostingKind.SCRAPPED).words == "Claim c-1 credited"

    def test_refuses_before_the_answer(self):
        with pytest.raises(ValidationError) as refused:
            scrap_claimed(self.waiting(), by=None)
        assert refused.value.messages == [
            "Claim c-1 has no answer yet; write down the supplier's answer, then scrap it."
        ]


class TestSendClaim:
    def test_says_when(self):
        claim = send_claim(claim_of(make_part(), make_supplier()), on=date(2026, 3, 20), by=None)
        assert (claim.status, claim.sent_on) == (ClaimStatus.SENT, date(2026, 3, 20))

    def test_twice_keeps_the_first_day(self):
        claim = claim_of(make_part(), make_supplier())
        send_claim(claim, on=date(2026, 3, 20), by=None)
        assert send_claim(claim, on=date(2026, 3, 25), by=None).sent_on == date(2026, 3, 20)

    def test_refuses_a_settled_claim(self):
        claim = claim_of(make_part(), make_supplier())
        settle_claim(claim, credit_cents=0, on=date(2026, 4, 1), by=None)
        with pytest.raises(ValidationError) as refused:
            send_claim(claim, on=date(2026, 4, 2), by=None)
        assert refused.value.messages == ["Claim c-1 is already refused; open a new one."]


class TestSettleClaim:
    def test_a_credit_is_written_down_and_logged(self):
        claim = claim_of(make_part(), make_supplier())
        settled = settle_claim(claim, credit_cents=2_137, on=date(2026, 4, 1), by=None)
        assert (settled.status, settled.credit_cents) == (ClaimStatus.CREDITED, 2_137)
        assert Change.objects.of(claim).get().after == {"credit_cents": 2_137}

    def test_the_same_answer_again_changes_nothing(self):
        claim = claim_of(make_part(), make_supplier())
        for day in (1, 2):
            settled = settle_claim(claim, credit_cents=2_137, on=date(2026, 4, day), by=None)
        assert settled.settled_on == date(2026, 4, 1)
        assert Change.objects.count() == 1

    def test_refuses_another_answer(self):
        claim = claim_of(make_part(), make_supplier())
        settle_claim(claim, credit_cents=2_137, on=date(2026, 4, 1), by=None)
        with pytest.raises(ValidationError) as refused:
            settle_claim(claim, credit_cents=0, on=date(2026, 4, 2), by=None)
        assert refused.value.messages == [
            "Claim c-1 was credited on 2026-04-01; a second answer needs a claim of its own."
        ]

    def test_refuses_an_answer_before_the_failure(self):
        claim = claim_of(make_part(), make_supplier())
        with pytest.raises(ValidationError) as refused:
            settle_claim(claim, credit_cents=0, on=date(2026, 3, 1), by=None)
        assert refused.value.messages == [
            "Claim c-1 is for a part that failed on 2026-03-17; "
            "the answer comes on that day or later."
        ]
