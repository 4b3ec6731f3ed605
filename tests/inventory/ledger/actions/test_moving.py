import pytest
from django.core.exceptions import ValidationError

from inventory.ledger.actions import (
    hold_parts,
    keep_borrowed,
    move_stock,
    receive_transfer,
    scrap_stock,
    send_back,
    send_transfer,
)
from inventory.ledger.audit import audit
from inventory.ledger.models import Borrowed, Condition, Lot, Shelf, Transfer
from inventory.shop.models import SiteKind
from tests.make import make_bin, make_site, make_stock

pytestmark = pytest.mark.django_db


@pytest.fixture
def site():
    return make_site(name="Quay", code="QUAY")


@pytest.fixture
def van():
    return make_site(name="The van", code="VAN", kind=SiteKind.VAN)


def lot_of(part, site, **facts):
    posting = make_stock(part, site, **facts)
    return posting.movements.get().lot


def move(lot, pieces=1, key="m1", **facts):
    return move_stock(lot, pieces=pieces, by=None, key=key, **facts)


class TestMoveStock:
    def test_splits_the_lot_and_its_cents_exactly(self, kit, site):
        lot = lot_of(kit, site, pieces=7, value_cents=1000, maker_code="K7")
        bin = make_bin(site)
        move(lot, 3, bin=bin)
        split = Lot.objects.get(bin=bin)
        lot.refresh_from_db()
        assert (split.cents_left, lot.cents_left) == (429, 571)
        assert (split.maker_code, split.from_lot) == ("K7", lot)
        assert audit() == []

    def test_preparing_takes_a_sensor_out_of_what_others_can_have(self, kit, site):
        move(lot_of(kit, site, pieces=2), condition=Condition.PREPARED, prepared_for="J-1")
        shelf = Shelf.objects.get()
        assert (shelf.on_hand, shelf.usable) == (2, 1)

    def test_a_prepared_sensor_needs_its_job(self, kit, site):
        with pytest.raises(ValidationError) as refused:
            move(lot_of(kit, site), condition=Condition.PREPARED)
        assert refused.value.messages == ["A prepared sensor is kept for one job; write which."]

    def test_promised_pieces_stay(self, kit, site, van):
        lot = lot_of(kit, site, pieces=2)
        hold_parts(kit, site=site, pieces=2, job_key="J-1", by=None, key="h1")
        with pytest.raises(ValidationError) as refused:
            move(lot, to_site=van)
        assert refused.value.messages == [
            "All 2 of KT-4 at Quay are promised to jobs; release a hold or receive stock first."
        ]
        move(lot, bin=make_bin(site))

    def test_to_where_it_lies_is_no_move(self, kit, site):
        with pytest.raises(ValidationError) as refused:
            move(lot_of(kit, site, key="r"))
        assert refused.value.messages == [
            "Lot r/1 lies there already; choose another bin, condition or site."
        ]


class TestTransfers:
    def send(self, part, here, there, **facts):
        facts = {"pieces": 2, "by": None, "key": "t1"} | facts
        return send_transfer(part, from_site=here, to_site=there, **facts)

    def test_on_the_road_it_is_on_nobodys_shelf(self, kit, site, van):
        make_stock(kit, site, pieces=3, value_cents=300)
        transfer = self.send(kit, site, van)
        on_hand = {s.site.kind: s.on_hand for s in Shelf.objects.select_related("site")}
        assert on_hand == {SiteKind.SHOP: 1, SiteKind.TRANSIT: 2}
        assert self.send(kit, site, van) == transfer
        receive_transfer(transfer, by=None, key="t2")
        assert Shelf.objects.with_value().get(site=van).value_cents == 200
        assert not Transfer.objects.on_the_road().exists()
        assert audit() == []

    def test_pieces_lost_on_the_road_come_off_this_sending_only(self, kit, site, van):
        make_stock(kit, site, pieces=1, value_cents=100)
        make_stock(kit, site, pieces=5, value_cents=500)
        transfer, other = (self.send(kit, site, van, pieces=3, key=key) for key in ("t1", "t2"))
        receive_transfer(transfer, by=None, key="t3", lost=2)
        receive_transfer(other, by=None, key="t4")
        assert Shelf.objects.with_value().get(site=van).value_cents == 400
        assert Shelf.objects.get(site__kind=SiteKind.TRANSIT).on_hand == 0
        assert audit() == []

    @pytest.mark.parametrize("lost", [-1, 2])
    def test_not_all_of_it_and_not_less_than_none_can_be_lost(self, kit, site, van, lost):
        make_stock(kit, site, pieces=2)
        with pytest.raises(ValidationError) as refused:
            receive_transfer(self.send(kit, site, van), by=None, key="t2", lost=lost)
        assert refused.value.messages == [
            f"{lost} of 2 cannot have been lost and the rest have come; "
            "if all are lost, undo the sending and scrap them at Quay."
        ]

    def test_is_received_once(self, kit, site, van):
        make_stock(kit, site, pieces=2)
        transfer = self.send(kit, site, van)
        receive_transfer(transfer, by=None, key="t2")
        receive_transfer(transfer, by=None, key="t2")
        with pytest.raises(ValidationError) as refused:
            receive_transfer(transfer, by=None, key="t3")
        assert refused.value.messages == [
            "This transfer was received already; nothing is on the road."
        ]
        assert Shelf.objects.get(site=van).on_hand == 2

    def test_what_is_lost_on_the_road_is_scrapped_there_and_the_rest_arrives(self, kit, site, van):
        make_stock(kit, site, pieces=2)
        transfer = self.send(kit, site, van)
        road = Shelf.objects.get(site__kind=SiteKind.TRANSIT).site
        scrap_stock(kit, site=road, pieces=1, by=None, key="s1", words="fell off")
        receive_transfer(transfer, by=None, key="t2")
        assert Shelf.objects.get(site=van).on_hand == 1
        assert audit() == []

    def test_what_was_borrowed_goes_back_once_or_is_kept(self, kit, site, van):
        make_stock(kit, site, pieces=2)
        lent = self.send(kit, site, van, borrowed=Borrowed.SEND_BACK)
        lent = receive_transfer(lent, by=None, key="t2")
        assert list(Transfer.objects.to_send_back()) == [lent]
        back = send_back(lent, by=None, key="b1")
        assert (back.from_site, back.to_site, back.sends_back) == (van, site, lent)
        assert send_back(lent, by=None, key="b1") == back
        with pytest.raises(ValidationError) as refused:
            send_back(lent, by=None, key="b2")
        assert refused.value.messages == ["This is on its way back already, as b1."]
        with pytest.raises(ValidationError) as refused:
            keep_borrowed(lent)
        assert refused.value.messages == [
            "This is on its way back already; receive it there instead."
        ]

    def test_kept_is_not_to_send_back_any_more(self, kit, site, van):
        make_stock(kit, site, pieces=2)
        lent = self.send(kit, site, van, borrowed=Borrowed.SEND_BACK)
        lent = receive_transfer(lent, by=None, key="t2")
        keep_borrowed(lent)
        assert not Transfer.objects.to_send_back().exists()

    def test_goes_to_another_site(self, kit, site):
        with pytest.raises(ValidationError) as refused:
            self.send(kit, site, site)
        assert refused.value.messages == [
            "Pieces move between two different sites; choose another one."
        ]
