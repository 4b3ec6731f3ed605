from datetime import date

import pytest
from django.urls import reverse

from inventory.ledger.models import Lot, Posting, PostingKind
from inventory.reorder.actions.deliveries import Arrived, receive_delivery
from inventory.reorder.models import Supplier
from tests.inventory.reorder.pages import page
from tests.make import make_offer, make_part, make_supplier

pytestmark = pytest.mark.django_db


@pytest.fixture
def lot(site, supplier):
    part = make_part(number="QX-4410")
    make_offer(supplier, part, returnable_days=30, return_fee_per_mille=100, supplier_code="B-7")
    arrived = [Arrived(part=part, pieces=4, value_cents=4_000)]
    receive_delivery(supplier, site=site, key="d-1", lines=arrived, by=None)
    return Lot.objects.get()


class TestSupplierList:
    def test_says_when_orders_leave(self, manager, supplier):
        supplier.order_days = "135"
        supplier.save()
        assert "Mon, Wed, Fri" in page(manager, "/suppliers/")


class TestSupplierDetail:
    def test_shows_offers_and_what_can_go_back(self, manager, supplier, lot):
        text = page(manager, f"/suppliers/{supplier.pk}/")
        for words in ("1 offer", "B-7", "1 lot can still go back", "36.00", '%">10<'):
            assert words in text

    def test_a_new_supplier_has_brought_nothing(self, manager, supplier):
        assert "has brought nothing yet" in page(manager, f"/suppliers/{supplier.pk}/")

    def test_costs_the_same_for_many_offers(
        self, manager, supplier, lot, django_assert_num_queries
    ):
        with django_assert_num_queries(11):
            page(manager, f"/suppliers/{supplier.pk}/")
        for _ in range(10):
            make_offer(supplier, make_part(), breaks={10: 900})
        with django_assert_num_queries(11):
            page(manager, f"/suppliers/{supplier.pk}/")


def terms(**more):
    return {
        "code": "NES",
        "name": "Ness Parts",
        "order_days": "135",
        "cut_off": "15:00",
        "stated_lead_days": "2",
        "order_cost_cents": "3.50",
        "freight_cents": "12.00",
        "freight_free_from_cents": "",
    } | more


class TestSupplierNew:
    def test_money_is_written_as_the_shop_writes_it(self, manager):
        manager.post("/suppliers/new/", terms())
        made = Supplier.objects.get(code="NES")
        assert (made.order_cost_cents, made.freight_free_from_cents) == (350, None)

    def test_wrong_days_stand_beside_their_field(self, manager):
        answer = manager.post("/suppliers/new/", terms(order_days="890"))
        assert "Write weekdays as digits, Monday is 1: 135." in answer.content.decode()


class TestSupplierChange:
    def test_saves_the_terms(self, manager, supplier):
        assert "Terms of Blyth Valve Supply" in page(manager, f"/suppliers/{supplier.pk}/change/")
        manager.post(f"/suppliers/{supplier.pk}/change/", terms(freight_free_from_cents="250"))
        supplier.refresh_from_db()
        assert (supplier.name, supplier.freight_free_from_cents) == ("Ness Parts", 25_000)

    def test_a_code_that_is_taken_is_refused(self, manager, supplier):
        make_supplier(code="NES")
        answer = manager.post(f"/suppliers/{supplier.pk}/change/", terms())
        assert "already exists" in answer.content.decode()


class TestSupplierSendBack:
    def send(self, client, supplier, lot, pieces=3, key="b-1"):
        given = {"key": key, "lot": lot.pk, "pieces": pieces}
        return client.post(f"/suppliers/{supplier.pk}/send-back/", given)

    def test_takes_the_pieces_off_the_shelf_once(self, manager, supplier, lot):
        for _ in range(2):
            self.send(manager, supplier, lot)
        lot.refresh_from_db()
        assert (lot.pieces_left, lot.cents_left) == (1, 1_000)
        assert Posting.objects.filter(kind=PostingKind.TO_SUPPLIER).count() == 1

    def test_more_than_is_there_is_refused_on_the_page(self, manager, supplier, lot):
        answer = self.send(manager, supplier, lot, pieces=9)
        assert "note is-error" in answer.content.decode()
        lot.refresh_from_db()
        assert lot.pieces_left == 4

    def test_a_lot_of_another_supplier_is_refused(self, manager, lot):
        answer = self.send(manager, make_supplier(), lot)
        assert "Another supplier brought that lot" in answer.content.decode()


OFFERED = {
    "supplier_code": "C-9",
    "pack": "4",
    "minimum_packs": "2",
    "price": "21.37",
    "valid_from": "2026-03-09",
    "returnable_days": "30",
    "warranty_months": "12",
}


class TestOfferNew:
    def offer(self, manager, supplier, number):
        path = reverse("inventory:offer_new", args=[supplier.pk])
        return manager.post(path, OFFERED | {"part": number}, follow=True)

    def test_writes_price_pack_and_terms(self, manager):
        supplier, part = make_supplier(), make_part()
        self.offer(manager, supplier, part.number)
        offer = supplier.offers.get()
        assert (offer.part, offer.supplier_code) == (part, "C-9")
        assert (offer.pack, offer.minimum_packs, offer.pack_price_cents) == (4, 2, 2_137)
        assert (offer.returnable_days, offer.warranty_months) == (30, 12)

    def test_the_price_that_held_ends_the_day_before(self, manager):
        supplier, part = make_supplier(), make_part()
        old = make_offer(supplier, part)
        self.offer(manager, supplier, part.number)
        old.refresh_from_db()
        assert old.valid_to == date(2026, 3, 8)
        assert supplier.offers.latest("valid_from").pack_price_cents == 2_137

    def test_refuses_a_part_that_is_not_listed(self, manager):
        supplier = make_supplier()
        text = self.offer(manager, supplier, "NO-SUCH").content.decode()
        assert "No part has the code “NO-SUCH”; check it or search by words." in text
        assert not supplier.offers.exists()
