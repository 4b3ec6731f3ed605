from datetime import date

import pytest
from django.core.exceptions import ValidationError

from inventory.ledger.actions import (
    Occasion,
    cost_of_postings,
    hold_parts,
    issue_stock,
    log_ask,
    move_stock,
    return_stock,
    settle_ask,
    still_out,
)
from inventory.ledger.audit import audit
from inventory.ledger.models import Ask, AskOutcome, Condition, Hold, How, Lot, Movement, Shelf
from inventory.shop.models import SiteKind
from tests.make import make_part, make_site, make_stock

pytestmark = pytest.mark.django_db


def issue(part, site, pieces=1, **facts):
    facts = {"by": None, "key": f"i{Movement.objects.count()}"} | facts
    return issue_stock(part, site=site, pieces=pieces, **facts)


class TestIssueStock:
    def test_seven_pieces_for_ten_leave_as_seven_values_that_sum_to_ten(self, kit, site):
        make_stock(kit, site, pieces=7, value_cents=1000)
        cents = [-issue(kit, site).movements.get().cents for _ in range(7)]
        # 1000 / 7 = 142.857…: six of 143 and the rest.
        assert cents == [143, 143, 143, 143, 143, 143, 142]
        assert sum(cents) == 1000
        assert Lot.objects.get().cents_left == 0

    def test_the_oldest_made_leaves_first_then_the_oldest_received(self, kit, site):
        for key, made in (("new", date(2026, 1, 5)), ("old", date(2025, 1, 5)), ("twin", None)):
            make_stock(kit, site, pieces=2, key=key, made_on=made)
        taken = issue(kit, site, 5).movements.order_by("number")
        # Without a make date a lot counts by its receipt, which is later than both.
        assert [(m.lot.key, m.pieces) for m in taken] == [
            ("old/1", -2), ("new/1", -2), ("twin/1", -1),
        ]  # fmt: skip

    def test_refuses_more_than_is_on_the_shelf(self, kit, site):
        make_stock(kit, site, pieces=3)
        with pytest.raises(ValidationError) as refused:
            issue(kit, site, 4)
        assert refused.value.messages == [
            "Only 3 of KT-4 on the shelf at Quay, not 4; issue 3 or fewer, or receive stock first."
        ]
        assert Shelf.objects.get().on_hand == 3
        assert not Ask.objects.exists()

    def test_refuses_an_empty_shelf(self, kit, site):
        with pytest.raises(ValidationError) as refused:
            issue(kit, site)
        assert refused.value.messages == ["None of KT-4 on the shelf at Quay; receive stock first."]

    def test_what_is_promised_to_others_stays(self, kit, site):
        make_stock(kit, site, pieces=3)
        hold_parts(kit, site=site, pieces=3, job_key="J-1", by=None, key="h1")
        with pytest.raises(ValidationError) as refused:
            issue(kit, site)
        assert refused.value.messages == [
            "All 3 of KT-4 at Quay are promised to jobs; release a hold or receive stock first."
        ]

    def test_says_how_many_of_those_that_lie_there_are_promised(self, kit, site):
        make_stock(kit, site, pieces=5)
        hold_parts(kit, site=site, pieces=4, job_key="J-1", by=None, key="h1")
        with pytest.raises(ValidationError) as refused:
            issue(kit, site, 2)
        assert refused.value.messages == [
            "Only 1 of KT-4 free at Quay, not 2; the other 4 are promised to jobs: "
            "issue 1 or fewer, or release a hold first."
        ]

    def test_with_its_hold_a_job_takes_what_it_was_promised(self, kit, site):
        make_stock(kit, site, pieces=4)
        hold = hold_parts(kit, site=site, pieces=3, job_key="J-1", by=None, key="h1")
        issue(kit, site, 4, hold=hold)
        shelf = Shelf.objects.get()
        assert (shelf.on_hand, shelf.held, Hold.objects.get().pieces) == (0, 0, 0)
        assert audit() == []

    def test_a_hold_of_another_part_is_refused(self, kit, site):
        other = make_part(kind="kit", number="KT-5")
        make_stock(kit, site), make_stock(other, site)
        hold = hold_parts(other, site=site, pieces=1, job_key="J-1", by=None, key="h1")
        with pytest.raises(ValidationError) as refused:
            issue(kit, site, hold=hold)
        assert refused.value.messages == [
            "The hold for J-1 is of KT-5 at Quay, not of KT-4 at Quay; issue without it."
        ]

    def test_without_an_ask_it_writes_one(self, kit, site):
        make_stock(kit, site, pieces=4)
        issue(kit, site, 2, occasion=Occasion(words="J-1"), wish=True)
        ask = Ask.objects.get()
        assert (ask.pieces, ask.job_key, ask.part, ask.wish) == (2, "J-1", kit, True)
        assert AskOutcome.objects.get().how == How.SHELF

    def test_answers_the_ask_it_is_given_and_asks_for_what_is_beyond(self, kit, site):
        make_stock(kit, site, pieces=4)
        ask = log_ask(kit, site=site, pieces=3, by=None, key="a1")
        issue(kit, site, 4, ask=ask)
        assert [(o.ask.pieces, o.pieces) for o in AskOutcome.objects.order_by("pk")] == [
            (3, 3), (1, 1),
        ]  # fmt: skip
        assert audit() == []

    def test_another_part_than_was_asked_for_is_a_substitute(self, kit, site):
        make_stock(kit, site)
        ask = log_ask(make_part(), site=site, pieces=1, by=None, key="a1")
        issue(kit, site, ask=ask)
        assert AskOutcome.objects.get().how == How.SUBSTITUTE

    def test_a_prepared_sensor_leaves_from_its_own_lot(self, site):
        part = make_part()
        make_stock(part, site, pieces=2)
        move_stock(Lot.objects.get(), pieces=1, by=None, key="m", condition=Condition.PREPARED,
                   prepared_for="J-1")  # fmt: skip
        prepared = Lot.objects.get(condition=Condition.PREPARED)
        issue(part, site, lot=prepared)
        shelf = Shelf.objects.get()
        assert (shelf.on_hand, shelf.usable) == (1, 1)

    def test_a_lot_of_another_shelf_is_refused(self, kit, site):
        make_stock(kit, site)
        elsewhere = make_site(name="Ridge")
        make_stock(kit, elsewhere, key="far")
        with pytest.raises(ValidationError) as refused:
            issue(kit, site, lot=Lot.objects.get(key="far/1"))
        assert refused.value.messages == [
            "Lot far/1 is KT-4 at Ridge, not KT-4 at Quay; choose another lot."
        ]

    def test_a_lot_with_too_few_left_is_refused(self, kit, site):
        make_stock(kit, site, pieces=2, key="a"), make_stock(kit, site, pieces=5)
        with pytest.raises(ValidationError) as refused:
            issue(kit, site, 3, lot=Lot.objects.get(key="a/1"))
        assert refused.value.messages == ["Lot a/1 has 2 left, not 3; choose another lot."]

    def test_nothing_is_sold_in_transit(self, kit):
        with pytest.raises(ValidationError) as refused:
            issue(kit, make_site(kind=SiteKind.TRANSIT, name="On the road"))
        assert refused.value.messages == [
            "Nothing is sold or promised at On the road; "
            "receive it at the site it is going to first."
        ]

    def test_takes_few_queries(self, kit, site, django_assert_num_queries):
        make_stock(kit, site, pieces=9)
        # Savepoint of this test and its end; posting, ask, outcome, shelf, lots, lot, movement.
        with django_assert_num_queries(9):
            issue_stock(kit, site=site, pieces=1, by=None, key="i1")


class TestReturnStock:
    def test_sealed_pieces_go_back_to_their_lot_at_the_cents_they_left_at(self, kit, site):
        make_stock(kit, site, pieces=7, value_cents=1000)
        posting = issue(kit, site, 3)
        return_stock(posting.movements.get(), pieces=1, by=None, key="b1")
        lot = Lot.objects.get()
        # Three left for 429, one of them comes back for 143.
        assert (lot.pieces_left, lot.cents_left) == (5, 1000 - 429 + 143)
        assert cost_of_postings([posting.pk]) == {posting.pk: 286}

    def test_opened_pieces_do_not_come_back_as_new(self, kit, site):
        make_stock(kit, site, pieces=2)
        issued = issue(kit, site).movements.get()
        return_stock(issued, pieces=1, by=None, key="b1", condition=Condition.OPENED)
        opened = Lot.objects.get(condition=Condition.OPENED)
        assert (opened.pieces_left, opened.from_lot) == (1, issued.lot)
        assert Shelf.objects.get().usable == 1

    def test_what_comes_back_was_not_wanted_after_all(self, kit, site):
        make_stock(kit, site, pieces=4)
        issued = issue(kit, site, 4).movements.get()
        return_stock(issued, pieces=1, by=None, key="b1")
        told = AskOutcome.objects.order_by("pk").values_list("how", "pieces")
        assert list(told) == [("shelf", 4), ("shelf", -1), ("withdrawn", 1)]
        assert audit() == []

    def test_never_more_than_is_still_out(self, kit, site):
        make_stock(kit, site, pieces=4)
        issued = issue(kit, site, 3).movements.get()
        return_stock(issued, pieces=2, by=None, key="b1")
        with pytest.raises(ValidationError) as refused:
            return_stock(issued, pieces=2, by=None, key="b2")
        assert refused.value.messages == [
            "Only 1 of KT-4 are still out on this issue, not 2; return 1 or fewer."
        ]
        assert still_out(issued)[0] == 1

    def test_what_left_opened_cannot_come_back_sealed(self, kit, site):
        make_stock(kit, site, condition=Condition.CHECKED)
        issued = issue(kit, site).movements.get()
        with pytest.raises(ValidationError) as refused:
            return_stock(issued, pieces=1, by=None, key="b1")
        assert refused.value.messages == [
            "KT-4 left opened and cannot come back sealed; return it as opened or checked."
        ]

    def test_only_an_issue_is_returned(self, kit, site):
        received = make_stock(kit, site).movements.get()
        with pytest.raises(ValidationError) as refused:
            return_stock(received, pieces=1, by=None, key="b1")
        assert refused.value.messages == [
            "Only an issue can be returned; choose a line that was issued."
        ]


class TestSettledAlready:
    def test_a_full_ask_leaves_the_issue_to_one_of_its_own(self, kit, site):
        make_stock(kit, site)
        ask = log_ask(kit, site=site, pieces=1, by=None, key="a1")
        settle_ask(ask, how=How.LOST, pieces=1)
        issue(kit, site, ask=ask)
        assert Ask.objects.count() == 2
        assert audit() == []
