import pytest
from django.core.exceptions import ValidationError

from inventory.catalog.models import MadeOf, PartKind
from inventory.ledger.actions import (
    cost_of_postings,
    issue_stock,
    move_stock,
    return_stock,
    revalue_stock,
    take_apart,
    undo_posting,
)
from inventory.ledger.audit import audit
from inventory.ledger.models import Condition, Lot, Shelf
from tests.make import make_part, make_site, make_stock

pytestmark = pytest.mark.django_db


@pytest.fixture
def site():
    return make_site()


def revalue(movement, cents, key="v1"):
    return revalue_stock(movement, value_cents=cents, by=None, key=key)


def value_here():
    return sum(shelf.value_cents for shelf in Shelf.objects.with_value())


class TestRevalueStock:
    def test_what_was_issued_bears_its_share(self, kit, site):
        received = make_stock(kit, site, pieces=7, value_cents=700).movements.get()
        issued = issue_stock(kit, site=site, pieces=3, by=None, key="i1")
        posting = revalue(received, 1400)
        # At twice the price, three cost 600 and the four left are worth 800.
        assert cost_of_postings([issued.pk]) == {issued.pk: 600}
        assert value_here() == 800
        of_the_issue = posting.movements.get(of=issued.movements.get())
        assert (of_the_issue.pieces, of_the_issue.cents) == (0, -300)
        assert audit() == []

    def test_odd_cents_are_neither_lost_nor_made(self, kit, site):
        received = make_stock(kit, site, pieces=7, value_cents=1000).movements.get()
        postings = [
            issue_stock(kit, site=site, pieces=1, by=None, key=f"i{n}").pk for n in range(4)
        ]
        revalue(received, 1001)
        assert sum(cost_of_postings(postings).values()) + value_here() == 1001
        assert audit() == []

    def test_it_follows_the_pieces_to_another_site_and_condition(self, kit, site):
        far = make_site()
        received = make_stock(kit, site, pieces=4, value_cents=400).movements.get()
        move_stock(Lot.objects.get(), pieces=2, by=None, key="m1", to_site=far)
        there = Lot.objects.get(shelf__site=far)
        move_stock(there, pieces=1, by=None, key="m2", condition=Condition.OPENED)
        issued = issue_stock(kit, site=far, pieces=1, by=None, key="i1")
        revalue(received, 800)
        assert cost_of_postings([issued.pk]) == {issued.pk: 200}
        assert Lot.objects.get(condition=Condition.OPENED).cents_left == 200
        assert value_here() == 600
        assert audit() == []

    def test_it_follows_an_assembly_into_its_pieces(self, site):
        whole, body, stem = make_part(), make_part(PartKind.BODY), make_part(PartKind.STEM)
        for piece in (body, stem):
            MadeOf.objects.create(whole=whole, piece=piece)
        received = make_stock(whole, site, pieces=2, value_cents=4000).movements.get()
        take_apart(whole, site=site, pieces=1, by=None, key="apart")
        revalue(received, 5000)
        assert [Lot.objects.get(shelf__part=part).cents_left for part in (whole, body, stem)] == [
            2500, 1250, 1250,
        ]  # fmt: skip
        assert audit() == []

    def test_what_came_back_opened_bears_its_share_and_the_job_does_not(self, kit, site):
        received = make_stock(kit, site, pieces=4, value_cents=400).movements.get()
        issued = issue_stock(kit, site=site, pieces=2, by=None, key="i1")
        return_stock(
            issued.movements.get(), pieces=1, by=None, key="b1", condition=Condition.OPENED
        )
        revalue(received, 800)
        assert cost_of_postings([issued.pk]) == {issued.pk: 200}
        assert Lot.objects.get(condition=Condition.OPENED).cents_left == 200
        assert audit() == []

    def test_a_second_correction_starts_from_the_first(self, kit, site):
        received = make_stock(kit, site, pieces=2, value_cents=200).movements.get()
        revalue(received, 500)
        revalue(received, 200, key="v2")
        lot = Lot.objects.get()
        assert (lot.cents_received, lot.cents_left) == (200, 200)
        assert audit() == []

    def test_the_same_price_is_no_correction(self, kit, site):
        received = make_stock(kit, site, pieces=2, value_cents=200).movements.get()
        with pytest.raises(ValidationError) as refused:
            revalue(received, 200)
        assert refused.value.messages == ["The value is already that; nothing to correct."]

    def test_an_undone_receipt_has_no_price(self, kit, site):
        posting = make_stock(kit, site, pieces=2, value_cents=200)
        undo_posting(posting, by=None, key="u1")
        with pytest.raises(ValidationError) as refused:
            revalue(posting.movements.get(), 300)
        assert refused.value.messages == ["This receipt was undone; there is nothing to revalue."]

    def test_only_what_came_in_is_revalued(self, kit, site):
        make_stock(kit, site)
        issued = issue_stock(kit, site=site, pieces=1, by=None, key="i1").movements.get()
        with pytest.raises(ValidationError) as refused:
            revalue(issued, 300)
        assert refused.value.messages == [
            "Only a receipt can be revalued; choose a line that came in."
        ]
