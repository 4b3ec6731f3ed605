import pytest
from django.core.exceptions import ValidationError

from inventory.ledger.actions import (
    hold_parts,
    issue_stock,
    move_stock,
    receive_transfer,
    return_stock,
    revalue_stock,
    send_transfer,
    undo_posting,
)
from inventory.ledger.audit import audit
from inventory.ledger.models import AskOutcome, Condition, Hold, Lot, Posting, Shelf, Transfer
from tests.make import make_site, make_stock

pytestmark = pytest.mark.django_db


def issue(part, site, pieces=1, key="i1", **facts):
    return issue_stock(part, site=site, pieces=pieces, by=None, key=key, **facts)


def undo(posting, key="u1"):
    return undo_posting(posting, by=None, key=key)


def refusal_of(posting):
    with pytest.raises(ValidationError) as refused:
        undo(posting, key="refused")
    assert not Posting.objects.filter(key="refused").exists()
    return refused.value.messages


class TestUndoPosting:
    def test_an_issue_goes_back_to_the_cent_and_withdraws_its_ask(self, kit, site):
        make_stock(kit, site, pieces=7, value_cents=1000)
        posting = undo(issue(kit, site, 3))
        lot = Lot.objects.get()
        assert (lot.pieces_left, lot.cents_left) == (7, 1000)
        told = AskOutcome.objects.order_by("pk").values_list("how", "pieces")
        assert list(told) == [("shelf", 3), ("shelf", -3), ("withdrawn", 3)]
        assert posting.undoes.undone_by == posting
        assert audit() == []

    def test_an_issue_gives_its_hold_back(self, kit, site):
        make_stock(kit, site, pieces=4)
        hold = hold_parts(kit, site=site, pieces=2, job_key="J-1", by=None, key="h1")
        undo(issue(kit, site, 3, hold=hold))
        assert Hold.objects.get().pieces == Shelf.objects.get().held == 2
        assert audit() == []

    def test_a_posting_is_undone_once_and_the_same_key_gives_the_first_undo(self, kit, site):
        posting = make_stock(kit, site)
        assert undo(posting) == undo(posting)
        assert refusal_of(posting) == ["This was undone already; nothing more to undo."]

    def test_an_undo_is_not_undone(self, kit, site):
        assert refusal_of(undo(make_stock(kit, site))) == [
            "This is itself an undo; post the movement again instead."
        ]

    def test_pieces_that_moved_on_are_undone_first(self, kit, site):
        received = make_stock(kit, site, pieces=4)
        issued = issue(kit, site, key="i9")
        assert refusal_of(received) == [
            f"These pieces have moved on since ({issued}, key i9); undo that first."
        ]
        undo(issued)
        undo(received, key="u2")
        assert Shelf.objects.get().on_hand == 0
        assert audit() == []

    def test_a_return_is_undone_before_its_issue(self, kit, site):
        make_stock(kit, site, pieces=4)
        issued = issue(kit, site, 2)
        back = return_stock(issued.movements.get(), pieces=1, by=None, key="b1")
        assert refusal_of(issued) == [
            f"These pieces have moved on since ({back}, key b1); undo that first."
        ]
        undo(back)
        undo(issued, key="u2")
        assert Shelf.objects.get().on_hand == 4
        assert audit() == []

    def test_promised_pieces_are_not_taken_away(self, kit, site):
        received = make_stock(kit, site, pieces=2)
        hold_parts(kit, site=site, pieces=2, job_key="J-1", by=None, key="h1")
        assert refusal_of(received) == [
            "All 2 of KT-4 at Quay are promised to jobs; release a hold or receive stock first."
        ]

    def test_an_issue_takes_its_corrected_price_back_with_it(self, kit, site):
        received = make_stock(kit, site, pieces=7, value_cents=1000).movements.get()
        issued = issue(kit, site, 3)
        corrected = revalue_stock(received, value_cents=1400, by=None, key="v1")
        undo(issued)
        assert Lot.objects.get().cents_left == 1400
        assert audit() == []
        # By then the pieces of the corrected price have moved.
        assert "undo that first." in refusal_of(corrected)[0]

    def test_a_corrected_price_that_nothing_followed_is_undone(self, kit, site):
        received = make_stock(kit, site, pieces=7, value_cents=1000).movements.get()
        issue(kit, site, 3)
        undo(revalue_stock(received, value_cents=1400, by=None, key="v1"))
        lot = Lot.objects.get()
        assert (lot.cents_received, lot.cents_left) == (1000, 1000 - 429)
        assert audit() == []

    def test_a_move_joins_the_pieces_again(self, kit, site):
        make_stock(kit, site, pieces=5, value_cents=333, key="r")
        lot = Lot.objects.get()
        undo(move_stock(lot, pieces=2, by=None, key="m", condition=Condition.OPENED))
        lot.refresh_from_db()
        assert (lot.pieces_left, lot.cents_left) == (5, 333)
        assert Shelf.objects.get().usable == 5

    def test_a_transfer_can_be_received_again_when_its_receipt_is_undone(self, kit, site):
        make_stock(kit, site, pieces=2)
        there = make_site()
        transfer = send_transfer(kit, from_site=site, to_site=there, pieces=2, by=None, key="t1")
        transfer = receive_transfer(transfer, by=None, key="t2")
        undo(transfer.received)
        assert list(Transfer.objects.on_the_road()) == [transfer]
        receive_transfer(transfer, by=None, key="t3")
        assert Shelf.objects.get(site=there).on_hand == 2
        assert audit() == []
