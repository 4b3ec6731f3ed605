"""Two people at once. On SQLite writers queue anyway; PostgreSQL shows what naive code would do."""

from concurrent.futures import ThreadPoolExecutor

import pytest
from django.db import connection, connections

from inventory.ledger.models import Shelf
from inventory.reorder.actions.deliveries import Arrived, receive_delivery
from inventory.reorder.actions.orders import add_to_draft, send_order
from inventory.reorder.models import Delivery, Order, OrderLine
from tests.make import make_part, make_site, make_supplier

pytestmark = pytest.mark.django_db(transaction=True)

PEOPLE = 8


def at_once(work):
    """What each of several people gets who do the same thing at the same moment."""

    def one(number):
        try:
            return work(number)
        finally:
            connections.close_all()

    with ThreadPoolExecutor(PEOPLE) as pool:
        return list(pool.map(one, range(PEOPLE)))


@pytest.fixture(autouse=True)
def _needs_postgres():
    if connection.vendor != "postgresql":
        pytest.skip("SQLite serves one writer at a time; run this on PostgreSQL.")


class TestAtOnce:
    def test_one_delivery_sent_by_many_is_received_once(self):
        site, supplier, part = make_site(), make_supplier(), make_part()
        line = add_to_draft(supplier, site=site, part=part, pieces=6, by=None)
        line.pack_price_cents = 2_137
        line.save()
        send_order(line.order, by=None)
        arrived = Arrived(part=part, order_line=line, pieces=6)
        found = at_once(
            lambda _: receive_delivery(supplier, site=site, key="d-1", lines=[arrived], by=None).pk
        )
        assert set(found) == {Delivery.objects.get().pk}
        assert Shelf.objects.get().on_hand == 6

    def test_many_parts_drafted_at_once_stand_on_one_draft(self):
        site, supplier = make_site(), make_supplier()
        parts = [make_part() for _ in range(PEOPLE)]
        at_once(lambda n: add_to_draft(supplier, site=site, part=parts[n], pieces=1, by=None).pk)
        assert Order.objects.count() == 1
        lines = OrderLine.objects.order_by("line").values_list("line", flat=True)
        assert list(lines) == list(range(1, PEOPLE + 1))

    def test_parts_of_two_deliveries_that_cross_do_not_block_each_other(self):
        site, supplier = make_site(), make_supplier()
        parts = [make_part(), make_part()]

        def receive(number):
            lines = [Arrived(part=part, pieces=1, value_cents=100) for part in parts]
            lines = lines if number % 2 else lines[::-1]
            return receive_delivery(supplier, site=site, key=f"d-{number}", lines=lines, by=None).pk

        assert len(set(at_once(receive))) == PEOPLE
        assert {shelf.on_hand for shelf in Shelf.objects.all()} == {PEOPLE}
