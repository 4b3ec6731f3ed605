import re
from datetime import date

import pytest

from inventory.catalog.models import PartCode
from inventory.ledger.actions import issue_stock
from inventory.ledger.models import Condition, Lot, Shelf
from inventory.reorder.actions.deliveries import Arrived, receive_delivery
from inventory.reorder.actions.orders import add_to_draft, send_order
from inventory.reorder.inputs.waits import read_waits
from inventory.reorder.models import Delivery, DeliveryLine, Order, OrderStatus
from tests.inventory.reorder.pages import page
from tests.make import make_offer, make_part

pytestmark = pytest.mark.django_db

FIELD = re.compile(r"<input[^>]*>|<select.*?</select>", re.DOTALL)


def fields(order, pieces, **more):
    line = order.lines.get()
    return {
        "do": "receive",
        "key": "d-1",
        f"pieces_{line.pk}": pieces,
        f"price_{line.pk}": "10.37",
        f"rest_{line.pk}": "coming",
    } | more


def receive(client, order, pieces, **more):
    return client.post(f"/orders/{order.pk}/receive/", fields(order, pieces, **more))


def as_filled_in(text):
    """The fields of the page's form as a browser would send them."""
    form = text[text.index('name="last"') - 2_000 :]
    sent_back = {}
    for found in FIELD.findall(form):
        name = re.search(r'name="([^"]+)"', found)
        if found.startswith("<select"):
            value = re.search(r'value="([^"]*)" selected', found)
        elif 'type="checkbox"' in found:
            continue
        else:
            value = re.search(r'value="([^"]*)"', found)
        if name and name[1] != "scan":
            sent_back[name[1]] = value[1] if value else ""
    return sent_back


class Scanner:
    """A person at the receiving page with one box and a button; every use of either counts."""

    def __init__(self, client, order):
        self.client, self.path, self.entries = client, f"/orders/{order.pk}/receive/", 0
        self.text = page(client, self.path)

    def enter(self, text):
        self.post(do="count", scan=text)

    def receive(self):
        self.enter("OK")

    def post(self, **more):
        self.entries += 1
        answer = self.client.post(self.path, as_filled_in(self.text) | more)
        self.text = answer.content.decode()
        self.status = answer.status_code


class TestOrderReceive:
    def test_shows_what_is_still_to_come(self, manager, sent):
        text = page(manager, f"/orders/{sent.pk}/receive/")
        assert "What came of 1 line from Blyth Valve Supply?" in text

    def test_a_draft_says_what_to_do_first(self, manager, draft):
        text = page(manager, f"/orders/{draft.pk}/receive/")
        assert "is a draft: mark it as sent first" in text

    def test_puts_it_on_the_shelf(self, manager, sent):
        receive(manager, sent, 8)
        assert Shelf.objects.get().on_hand == 8
        assert "What came" in page(manager, f"/orders/{sent.pk}/")

    def test_sent_twice_it_receives_once(self, manager, sent):
        for _ in range(2):
            receive(manager, sent, 8)
        assert Shelf.objects.get().on_hand == 8

    def test_too_many_are_refused_on_the_page(self, manager, sent):
        answer = receive(manager, sent, 9)
        assert "Only 8 of QX-4410 are still to come" in answer.content.decode()
        assert not Shelf.objects.exists()

    def test_counting_writes_nothing(self, manager, sent):
        answer = receive(manager, sent, 3, do="count", scan="QX-4410")
        assert "4 of QX-4410, 4 missing." in answer.content.decode()
        assert not Shelf.objects.exists()

    def test_all_as_ordered_is_one_press(self, manager, sent):
        answer = receive(manager, sent, "", do="all")
        assert "complete" in answer.content.decode()
        assert "Receive 8 pieces" in answer.content.decode()

    def test_an_unknown_code_is_linked_to_its_part_and_counted(self, manager, sent):
        scanner = Scanner(manager, sent)
        # The example of the GS1 General Specifications.
        scanner.enter("6291041500213")
        assert "“6291041500213” is a code of" in scanner.text
        scanner.post(do="link", same_as="")
        assert "Choose the part that has the code “6291041500213”" in scanner.text
        scanner.post(do="link", same_as=sent.lines.get().pk)
        assert "1 of QX-4410, 7 missing." in scanner.text
        scanner.enter("06291041500213")
        assert "2 of QX-4410, 6 missing." in scanner.text
        assert PartCode.objects.get().kind == "gtin"

    def test_when_it_was_made_stands_on_the_lot(self, manager, sent):
        line = sent.lines.get()
        made = {f"made_{line.pk}": "2025-11-03", f"code_{line.pk}": "4410A"}
        receive(manager, sent, 8, **made)
        lot = Lot.objects.get()
        assert (lot.made_on, lot.maker_code) == (date(2025, 11, 3), "4410A")

    def test_a_price_that_differs_is_queried_or_the_new_one(self, manager, sent):
        told = {f"price_{sent.lines.get().pk}": "72.19", "new_prices": "on"}
        answer = receive(manager, sent, 8, query_price="on", **told)
        assert "Query the prices or take them as new; not both." in answer.content.decode()
        receive(manager, sent, 8, **told)
        assert sent.supplier.offers.latest("valid_from").pack_price_cents == 7_219

    def test_a_back_order_comes_with_a_later_order(self, manager, sent, site, supplier):
        late = make_part(number="RZ-77")
        make_offer(supplier, late)
        before = add_to_draft(supplier, site=site, part=late, pieces=1, by=None).order
        send_order(before, by=None)
        scanner = Scanner(manager, sent)
        assert "1 line still to come on other orders of Blyth Valve Supply" in scanner.text
        scanner.enter("RZ-77")
        scanner.receive()
        before.refresh_from_db()
        assert before.status == OrderStatus.DELIVERED

    def test_a_part_that_was_not_ordered_goes_back_or_is_kept(self, manager, sent):
        wrong = make_part(number="RZ-77")
        for key, fate in (("d-1", "back"), ("d-2", "keep")):
            more = {f"other_{wrong.pk}": 1, f"value_{wrong.pk}": "7.31", f"fate_{wrong.pk}": fate}
            receive(manager, sent, 1, key=key, **more)
        lots = Lot.objects.filter(shelf__part=wrong).order_by("pk")
        assert [lot.condition for lot in lots] == [Condition.DECIDE, Condition.SEALED]
        assert [lot.cents_left for lot in lots] == [731, 731]

    def test_twelve_lines_one_wrong_part_and_one_short_take_under_forty_entries(
        self, manager, site, supplier
    ):
        parts = [make_part(number=f"BX-{number:03}") for number in range(12)]
        for number, part in enumerate(parts):
            make_offer(supplier, part)
            line = add_to_draft(supplier, site=site, part=part, pieces=3 + number, by=None)
        send_order(line.order, by=None)
        wrong = make_part(number="WRONG-1")
        scanner = Scanner(manager, line.order)
        for number, part in enumerate(parts):
            scanner.enter(part.number)
            scanner.enter(str(3 + number - (number == 5)))
        scanner.enter(wrong.number)
        scanner.receive()
        assert scanner.status == 302
        assert scanner.entries == 26
        on_hand = {shelf.part_id: shelf.on_hand for shelf in Shelf.objects.all()}
        assert [on_hand[part.pk] for part in parts] == [3, 4, 5, 6, 7, 7, *range(9, 15)]
        assert on_hand[wrong.pk] == 1
        assert Shelf.objects.get(part=wrong).usable == 0
        order = Order.objects.get()
        assert order.status == OrderStatus.PART_DELIVERED
        assert order.lines.get(part=parts[5]).pieces_open == 1
        assert read_waits()[:, :2].tolist() == [[supplier.pk, 0]]

    def test_costs_the_same_for_many_lines(
        self, manager, site, supplier, sent, django_assert_num_queries
    ):
        with django_assert_num_queries(6):
            page(manager, f"/orders/{sent.pk}/receive/")
        for _ in range(10):
            line = add_to_draft(supplier, site=site, part=make_part(), pieces=1, by=None)
        send_order(line.order, by=None)
        with django_assert_num_queries(6):
            page(manager, f"/orders/{sent.pk}/receive/")


class TestDeliveryTakeBack:
    def test_leaves_the_order_as_it_was_sent(self, manager, sent):
        receive(manager, sent, 8)
        assert "Take it back" in page(manager, f"/orders/{sent.pk}/")
        answer = manager.post(f"/deliveries/{Delivery.objects.get().pk}/take-back/")
        assert answer.url == f"/orders/{sent.pk}/"
        assert Shelf.objects.get().on_hand == 0
        assert "1 line still to come" in page(manager, answer.url)

    def test_what_was_issued_since_is_said(self, manager, sent, site):
        receive(manager, sent, 8)
        part = sent.lines.get().part
        issue_stock(part, site=site, pieces=1, by=None, key="i-1")
        pk = Delivery.objects.get().pk
        answer = manager.post(f"/deliveries/{pk}/take-back/", follow=True)
        assert "note is-error" in answer.content.decode()
        assert Shelf.objects.get().on_hand == 7


class TestDeliveryPrice:
    @pytest.fixture
    def line(self, sent, site, supplier):
        ordered = sent.lines.get()
        arrived = Arrived(part=ordered.part, order_line=ordered, pieces=8, pack_price_cents=1_100)
        receive_delivery(supplier, site=site, key="d-1", lines=[arrived], by=None, query_price=True)
        return DeliveryLine.objects.get()

    def test_shows_both_prices(self, manager, line):
        text = page(manager, f"/delivery-lines/{line.pk}/price/")
        assert "What did 8 pieces of QX-4410 really cost?" in text
        assert "$20.74" in text
        assert "$22.00" in text

    def test_a_correction_revalues_the_stock(self, manager, line):
        assert "Prices in question (1)" in page(manager, "/orders/?show=queried")
        given = {"key": "p-1", "was": 2_200, "value": "20.74"}
        for _ in range(2):
            manager.post(f"/delivery-lines/{line.pk}/price/", given)
        assert Lot.objects.get().cents_left == 2_074
        assert "Prices in question" not in page(manager, "/orders/")

    def test_what_another_person_settled_stays(self, manager, line):
        given = {"key": "p-1", "was": 2_100, "value": "20.74"}
        answer = manager.post(f"/delivery-lines/{line.pk}/price/", given)
        assert "was corrected meanwhile; look at it again" in answer.content.decode()
        assert Lot.objects.get().cents_left == 2_200
