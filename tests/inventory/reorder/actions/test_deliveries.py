from datetime import UTC, date, datetime

import pytest
from django.core.exceptions import ValidationError
from hypothesis import given
from hypothesis import strategies as st

from inventory.ledger.actions import issue_stock, release_hold, undo_posting
from inventory.ledger.models import Hold, Movement, Posting, PostingKind, Shelf
from inventory.reorder.actions.deliveries import (
    Arrived,
    pieces_value,
    receive_delivery,
    settle_price,
    take_back_delivery,
)
from inventory.reorder.actions.orders import add_to_draft, send_order, withdraw_order
from inventory.reorder.inputs.waits import read_waits
from inventory.reorder.models import Delivery, DeliveryLine, Offer, OrderStatus
from inventory.shop.models import Change
from tests.make import make_offer, make_part, make_site, make_supplier


class TestPiecesValue:
    @given(
        pack=st.integers(1, 50),
        price=st.integers(0, 100_000),
        came=st.lists(st.integers(1, 60), min_size=1, max_size=12),
    )
    def test_whole_packs_cost_the_price_of_a_pack_to_the_cent(self, pack, price, came):
        came.append(-sum(came) % pack)
        value = before = 0
        for pieces in came:
            value += pieces_value(pack=pack, pack_price_cents=price, before=before, pieces=pieces)
            before += pieces
        assert value == before // pack * price

    def test_odd_cents_fall_in_the_middle(self):
        # 100 cents over 3 pieces, rounded as they add up: 33.3 → 33, 66.7 → 67, 100.
        shares = [pieces_value(pack=3, pack_price_cents=100, before=n, pieces=1) for n in range(3)]
        assert shares == [33, 34, 33]


@pytest.mark.django_db
class TestReceiveDelivery:
    @pytest.fixture(autouse=True)
    def _shop(self):
        self.site = make_site(name="Quay Street")
        self.supplier = make_supplier(code="BLY", name="Blyth Valve Supply")
        self.part = make_part(number="QX-4410")
        make_offer(self.supplier, self.part, pack=3, pack_price_cents=6_411)

    def sent(self, pieces=6, **facts):
        line = add_to_draft(
            self.supplier, site=self.site, part=self.part, pieces=pieces, by=None, **facts
        )
        send_order(line.order, by=None, at=datetime(2026, 3, 2, 9, tzinfo=UTC))
        line.refresh_from_db()
        return line

    def receive(self, *lines, key="d-1", **how):
        return receive_delivery(self.supplier, site=self.site, key=key, lines=lines, by=None, **how)

    def arrived(self, line, pieces, **facts):
        return Arrived(part=line.part, order_line=line, pieces=pieces, **facts)

    def shelf(self):
        return Shelf.objects.get(part=self.part, site=self.site)

    def test_puts_whole_packs_on_the_shelf_at_their_price(self):
        line = self.sent(6)
        self.receive(self.arrived(line, 6))
        line.refresh_from_db()
        assert (self.shelf().on_hand, line.pieces_open) == (6, 0)
        assert Movement.objects.get().cents == 12_822
        assert line.order.__class__.objects.get().status == OrderStatus.DELIVERED

    def test_twice_receives_once(self):
        line = self.sent(6)
        first = self.receive(self.arrived(line, 6))
        assert self.receive(self.arrived(line, 6)) == first
        assert (self.shelf().on_hand, Posting.objects.count()) == (6, 1)

    def test_short_leaves_the_rest_to_come(self):
        line = self.sent(6)
        self.receive(self.arrived(line, 4))
        line.refresh_from_db()
        assert (line.pieces_open, line.order.status) == (2, OrderStatus.PART_DELIVERED)
        self.receive(self.arrived(line, 2), key="d-2")
        assert sum(m.cents for m in Movement.objects.all()) == 12_822

    def test_short_and_nothing_more_to_come_closes_the_order(self):
        line = self.sent(6)
        self.receive(self.arrived(line, 4, rest_withdrawn=True))
        line.refresh_from_db()
        assert (line.pieces_withdrawn, line.order.status) == (2, OrderStatus.DELIVERED)

    def test_nothing_came_and_nothing_will(self):
        line = self.sent(6)
        self.receive(self.arrived(line, 0, rest_withdrawn=True))
        line.refresh_from_db()
        assert line.order.status == OrderStatus.WITHDRAWN

    def test_more_than_ordered_is_refused(self):
        line = self.sent(6)
        with pytest.raises(ValidationError) as refused:
            self.receive(self.arrived(line, 7))
        assert refused.value.messages == [
            f"Only 6 of QX-4410 are still to come on order {line.order}, and 7 were counted; "
            "count again, or keep what came beyond the order."
        ]
        assert not Delivery.objects.exists()
        assert not Posting.objects.exists()

    def test_more_than_ordered_can_be_kept(self):
        line = self.sent(6)
        self.receive(self.arrived(line, 7), keep_more=True)
        line.refresh_from_db()
        assert (self.shelf().on_hand, line.pieces_delivered, line.pieces_open) == (7, 7, 0)

    def test_a_part_that_was_not_ordered_has_its_own_value(self):
        line, wrong = self.sent(6), make_part()
        self.receive(self.arrived(line, 6), Arrived(part=wrong, pieces=2, value_cents=731))
        came = DeliveryLine.objects.get(part=wrong)
        assert (came.order_line, came.value_cents) == (None, 731)
        assert Shelf.objects.get(part=wrong).on_hand == 2

    def test_a_part_that_was_not_ordered_needs_a_value(self):
        with pytest.raises(ValidationError) as refused:
            self.receive(Arrived(part=self.part, pieces=2))
        assert refused.value.messages == [
            "No price is known for QX-4410; give the price of a pack, 0 if it is free."
        ]

    def test_what_is_not_counted_has_no_shelf(self):
        part = make_part("cap", counted="not")
        self.receive(Arrived(part=part, pieces=100, value_cents=250))
        assert not Shelf.objects.exists()
        assert DeliveryLine.objects.get().value_cents == 250

    def test_another_price_is_taken_and_queried(self):
        line = self.sent(6)
        self.receive(self.arrived(line, 6, pack_price_cents=6_500), query_price=True)
        came = DeliveryLine.objects.get()
        assert (came.value_cents, came.price_queried) == (13_000, True)

    def test_another_price_is_the_new_offer_when_so_told(self):
        line = self.sent(6)
        self.receive(self.arrived(line, 3, pack_price_cents=6_500))
        assert [one.pack_price_cents for one in Offer.objects.all()] == [6_411]
        self.receive(self.arrived(line, 3, pack_price_cents=6_500), key="d-2", new_prices=True)
        told = Offer.objects.valid_on(self.site.today())
        assert [(one.pack, one.pack_price_cents) for one in told] == [(3, 6_500)]
        assert Change.objects.get(kind="inventory.Offer").after == {"pack_price_cents": 6_500}

    def test_the_price_as_ordered_is_no_new_one(self):
        line = self.sent(6)
        self.receive(self.arrived(line, 6, pack_price_cents=6_411), new_prices=True)
        assert [one.pack_price_cents for one in Offer.objects.all()] == [6_411]

    def test_the_price_as_ordered_is_not_queried(self):
        line = self.sent(6)
        self.receive(self.arrived(line, 6, pack_price_cents=6_411), query_price=True)
        assert not DeliveryLine.objects.get().price_queried

    def test_what_came_for_a_job_is_held_for_it(self):
        line = self.sent(3, job_key="J-260302-4")
        self.receive(self.arrived(line, 3))
        hold = Hold.objects.get()
        assert (hold.job_key, hold.pieces, self.shelf().available) == ("J-260302-4", 3, 0)
        assert hold.arrived_at is not None

    def test_what_goes_back_lies_apart(self):
        self.receive(Arrived(part=self.part, pieces=2, value_cents=0, goes_back=True))
        assert (self.shelf().on_hand, self.shelf().usable) == (2, 0)

    def test_the_day_it_was_made_and_its_code_stand_on_the_lot(self):
        line = self.sent(3)
        facts = {"made_on": date(2025, 11, 3), "maker_code": "4410A"}
        self.receive(self.arrived(line, 3, **facts))
        lot = Movement.objects.get().lot
        assert (lot.made_on, lot.maker_code) == (date(2025, 11, 3), "4410A")

    def test_every_delivery_is_a_lead_time_sample(self):
        line = self.sent(6)
        self.receive(self.arrived(line, 4), at=datetime(2026, 3, 4, 10, tzinfo=UTC))
        self.receive(self.arrived(line, 2), key="d-2", at=datetime(2026, 3, 9, 10, tzinfo=UTC))
        assert sorted(read_waits()[:, :2].tolist()) == [
            [self.supplier.pk, 2],
            [self.supplier.pk, 7],
        ]

    def test_refuses_an_empty_delivery(self):
        with pytest.raises(ValidationError) as refused:
            self.receive()
        assert refused.value.messages == [
            "Nothing was counted; give the pieces of at least one line."
        ]

    def test_refuses_a_draft(self):
        line = add_to_draft(self.supplier, site=self.site, part=self.part, pieces=3, by=None)
        with pytest.raises(ValidationError) as refused:
            self.receive(self.arrived(line, 3))
        assert refused.value.messages == [
            f"Order {line.order} is a draft; mark it as sent, then receive it."
        ]

    def test_refuses_a_withdrawn_order(self):
        line = self.sent(3)
        withdraw_order(line.order, by=None)
        with pytest.raises(ValidationError) as refused:
            self.receive(self.arrived(line, 3))
        assert refused.value.messages == [
            f"Order {line.order} was withdrawn; receive what came as parts that were not ordered."
        ]

    def test_refuses_an_order_of_another_supplier(self):
        line = self.sent(3)
        self.supplier = make_supplier(name="Ness Parts")
        with pytest.raises(ValidationError) as refused:
            self.receive(self.arrived(line, 3))
        assert refused.value.messages == [
            f"Order {line.order} is not one of Ness Parts for Quay Street; "
            "receive it on its own page."
        ]


@pytest.mark.django_db
class TestTakeBackDelivery:
    @pytest.fixture(autouse=True)
    def _came(self):
        self.site, self.supplier, self.part = make_site(), make_supplier(), make_part()
        make_offer(self.supplier, self.part, pack_price_cents=2_137)
        self.line = add_to_draft(
            self.supplier, site=self.site, part=self.part, pieces=4, job_key="J-7", by=None
        )
        send_order(self.line.order, by=None)
        self.delivery = self.receive()

    def receive(self):
        arrived = Arrived(part=self.part, order_line=self.line, pieces=4)
        return receive_delivery(self.supplier, site=self.site, key="d-1", lines=[arrived], by=None)

    def test_everything_is_as_if_it_had_not_come(self):
        for _ in range(2):
            take_back_delivery(self.delivery, by=None)
        shelf, hold = Shelf.objects.get(), Hold.objects.get()
        assert (shelf.on_hand, shelf.held, hold.pieces) == (0, 0, 0)
        self.line.refresh_from_db()
        assert (self.line.pieces_open, self.line.order.status) == (4, OrderStatus.SENT)
        assert read_waits().tolist() == []

    def test_its_key_receives_nothing_again(self):
        take_back_delivery(self.delivery, by=None)
        assert self.receive() == self.delivery
        assert Shelf.objects.get().on_hand == 0

    def test_what_was_undone_on_the_shelf_is_not_undone_twice(self):
        release_hold(Hold.objects.get(), words="counted wrong")
        undo_posting(self.delivery.lines.get().posting, by=None, key="u-1")
        take_back_delivery(self.delivery, by=None)
        self.line.refresh_from_db()
        assert (self.line.pieces_open, Shelf.objects.get().on_hand) == (4, 0)

    def test_pieces_that_moved_on_refuse_it_and_nothing_changes(self):
        issue_stock(
            self.part, site=self.site, pieces=1, by=None, key="i-1", hold=Hold.objects.get()
        )
        with pytest.raises(ValidationError):
            take_back_delivery(self.delivery, by=None)
        assert (Shelf.objects.get().on_hand, Hold.objects.get().pieces) == (3, 3)
        assert self.delivery.lines.exists()


@pytest.mark.django_db
class TestSettlePrice:
    @pytest.fixture(autouse=True)
    def _queried(self):
        self.site, supplier, self.part = make_site(), make_supplier(), make_part(number="QX-4410")
        make_offer(supplier, self.part, pack_price_cents=2_137)
        line = add_to_draft(supplier, site=self.site, part=self.part, pieces=4, by=None)
        send_order(line.order, by=None)
        arrived = Arrived(part=self.part, order_line=line, pieces=4, pack_price_cents=2_200)
        self.delivery = receive_delivery(
            supplier, site=self.site, key="d-1", lines=[arrived], by=None, query_price=True
        )
        self.line = self.delivery.lines.get()

    def settle(self, value_cents, key="p-1", was_cents=8_800):
        return settle_price(
            self.line, value_cents=value_cents, was_cents=was_cents, by=None, key=key
        )

    def test_a_correction_revalues_what_came(self):
        issue_stock(self.part, site=self.site, pieces=1, by=None, key="i-1")
        self.settle(8_548)
        lot = Movement.objects.filter(pieces=4).get().lot
        lot.refresh_from_db()
        assert (lot.pieces_left, lot.cents_left) == (3, 6_411)

    def test_the_price_as_charged_moves_nothing(self):
        before = Movement.objects.count()
        settled = self.settle(8_800)
        assert (settled.price_queried, Movement.objects.count()) == (False, before)

    def test_twice_settles_once(self):
        self.settle(8_548)
        again = self.settle(8_548)
        assert again.value_cents == 8_548
        assert Posting.objects.filter(kind=PostingKind.REVALUED).count() == 1

    def test_a_later_invoice_corrects_it_again(self):
        self.settle(8_800)
        self.settle(8_000, key="p-2")
        lot = Movement.objects.filter(pieces=4).get().lot
        lot.refresh_from_db()
        assert lot.cents_left == 8_000

    def test_refuses_to_overwrite_what_another_person_settled(self):
        self.settle(8_548)
        with pytest.raises(ValidationError) as refused:
            self.settle(8_000, key="p-2")
        assert refused.value.messages == [
            "The price of QX-4410 on delivery d-1 was corrected meanwhile; "
            "look at it again, then correct it."
        ]
