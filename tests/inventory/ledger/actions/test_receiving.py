from datetime import UTC, date, datetime

import pytest
from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Sum

from inventory.catalog.models import Counted
from inventory.ledger.actions import Occasion, issue_stock, receive_stock, take_off_car
from inventory.ledger.models import Condition, Lot, Movement, Posting, PostingKind, Shelf
from inventory.shop.models import SiteKind
from tests.make import make_bin, make_part, make_site, make_user
from tests.soak import soak

pytestmark = pytest.mark.django_db


def receive(part, site, **facts):
    return receive_stock(
        part, site=site, **{"pieces": 7, "value_cents": 1000, "by": None, "key": "r1"} | facts
    )


class TestReceiveStock:
    def test_opens_a_lot_with_its_facts(self):
        part, site, person = make_part(kind="kit"), make_site(zone="America/Chicago"), make_user()
        bin = make_bin(site)
        receive(part, site, bin=bin, made_on=date(2025, 9, 1), maker_code="K7-25", by=person,
                at=datetime(2026, 3, 3, 3, 0, tzinfo=UTC))  # fmt: skip
        lot = Lot.objects.get()
        assert (lot.key, lot.bin, lot.maker_code, lot.condition) == ("r1/1", bin, "K7-25", "sealed")
        assert (lot.pieces_left, lot.cents_left) == (7, 1000)
        # Nine in the evening of the day before, on the site's own clock.
        assert lot.received_on == date(2026, 3, 2)
        assert Posting.objects.get().by == person

    def test_one_key_receives_once_and_gives_the_first_result(self):
        part, site = make_part(kind="kit"), make_site()
        first = receive(part, site)
        assert receive(part, site, pieces=99, value_cents=1) == first
        assert Shelf.objects.get().on_hand == 7

    def test_opened_pieces_are_on_hand_and_not_usable(self):
        part, site = make_part(kind="kit"), make_site()
        receive(part, site, condition=Condition.OPENED)
        shelf = Shelf.objects.get()
        assert (shelf.on_hand, shelf.usable, shelf.available) == (7, 0, 0)

    @pytest.mark.soak
    @pytest.mark.django_db(transaction=True)
    def test_many_receipts_of_ten_cents_sum_to_the_cent(self):
        # 30,000 × 0.10 = 3,000.00; as binary floats the same sum is 3000.0000000158…
        part, site, count = make_part(kind="kit"), make_site(), soak(500, 30_000)
        # Committed on the way: one transaction of 30,000 changes to a shelf reads them all again.
        for hundred in range(0, count, 100):
            with transaction.atomic():
                for number in range(hundred, hundred + 100):
                    receive(part, site, pieces=1, value_cents=10, key=f"dime-{number}")
        assert Movement.objects.aggregate(sum=Sum("cents"))["sum"] == count * 10
        assert Shelf.objects.with_value().get().value_cents == count * 10

    @pytest.mark.parametrize("pieces", [0, -3])
    def test_refuses_less_than_one_piece(self, pieces):
        with pytest.raises(ValidationError) as refused:
            receive(make_part(number="QX-1"), make_site(), pieces=pieces)
        assert refused.value.messages == [
            f"{pieces} pieces of QX-1 cannot be posted; write 1 or more."
        ]

    def test_refuses_a_value_below_nothing(self):
        with pytest.raises(ValidationError) as refused:
            receive(make_part(number="QX-1"), make_site(), value_cents=-1)
        assert refused.value.messages == [
            "The value of QX-1 cannot be below 0; write what it cost."
        ]

    def test_refuses_what_is_not_counted(self):
        with pytest.raises(ValidationError) as refused:
            receive(make_part(kind="cap", number="CAP-1", counted=Counted.NOT), make_site())
        assert refused.value.messages == [
            "CAP-1 is not counted, so nothing of it is posted; change how it is counted first."
        ]

    def test_refuses_a_bin_of_another_site(self):
        site = make_site(name="Quay")
        with pytest.raises(ValidationError) as refused:
            receive(make_part(), site, bin=make_bin(make_site(), code="A-01"))
        assert refused.value.messages == ["Bin A-01 is not at Quay; choose a bin of that site."]

    def test_refuses_to_receive_in_transit(self):
        road = make_site(kind=SiteKind.TRANSIT, name="On the road")
        with pytest.raises(ValidationError) as refused:
            receive(make_part(), road)
        assert refused.value.messages == [
            "Nothing is received at On the road; receive it at the site it is going to."
        ]

    def test_a_refusal_leaves_nothing_behind(self):
        with pytest.raises(ValidationError):
            receive(make_part(), make_site(), condition=Condition.PREPARED)
        assert not Posting.objects.exists()
        assert not Lot.objects.exists()
        assert all(shelf.on_hand == 0 for shelf in Shelf.objects.all())


class TestTakeOffCar:
    def test_comes_in_at_nothing_to_claim_and_cannot_be_sold(self):
        part, site = make_part(), make_site()
        posting = take_off_car(
            part, site=site, by=None, key="t1", occasion=Occasion(words="J-7"), maker_code="QX 315"
        )
        lot = Lot.objects.get()
        assert posting.kind == PostingKind.TAKEN_OFF
        assert (lot.condition, lot.cents_left, lot.came_from) == (Condition.CLAIM, 0, "J-7")
        with pytest.raises(ValidationError) as refused:
            issue_stock(part, site=site, pieces=1, by=None, key="i1", lot=lot)
        assert refused.value.messages == [
            "Lot t1/1 is to claim; check it and mark it checked before it is issued."
        ]
