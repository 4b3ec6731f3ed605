from datetime import UTC, date, datetime

import pytest

from inventory.ledger.actions import release_hold
from inventory.ledger.models import Hold
from inventory.reorder.actions.deliveries import Arrived, receive_delivery
from inventory.reorder.actions.orders import add_to_draft, send_order, withdraw_order
from inventory.reorder.models import OrderLine
from inventory.reorder.special_orders import special_order
from tests.make import make_offer, make_part

pytestmark = pytest.mark.django_db

SENT = datetime(2026, 3, 2, 9, tzinfo=UTC)  # a Monday
SOON, LATER = date(2026, 3, 3), date(2026, 3, 9)


@pytest.fixture
def ordered(site, supplier):
    part = make_part()
    make_offer(supplier, part)
    return add_to_draft(supplier, site=site, part=part, pieces=2, job_key="J-7", by=None)


def told(site, today=SOON):
    return special_order(OrderLine.objects.special(site).get(), today)


def bring(supplier, site, line, pieces, key="d-1", **facts):
    line.refresh_from_db()
    arrived = Arrived(part=line.part, order_line=line, pieces=pieces, **facts)
    receive_delivery(supplier, site=site, key=key, lines=[arrived], by=None)


class TestSpecialOrder:
    def test_a_draft_is_to_be_sent(self, site, ordered):
        one = told(site)
        assert (one.state, one.next_step) == ("not sent", "Send the order")

    def test_what_is_on_the_way_is_waited_for(self, site, ordered):
        send_order(ordered.order, by=None, at=SENT)
        one = told(site)
        assert (one.state, one.next_step, one.is_late) == ("2 on the way", "Wait for it", False)

    def test_what_is_late_is_asked_for(self, site, ordered):
        send_order(ordered.order, by=None, at=SENT)
        one = told(site, LATER)
        assert one.next_step == "Late: ask Blyth Valve Supply, and tell the customer"
        assert one.is_late

    def test_what_came_is_held_and_the_customer_called(self, site, supplier, ordered):
        send_order(ordered.order, by=None, at=SENT)
        bring(supplier, site, ordered, 2)
        one = told(site)
        assert one.state == "2 here and held"
        assert one.next_step == "Call the customer, then fit it on the job"
        assert one.line.held_since is not None

    def test_what_left_its_hold_is_past(self, site, supplier, ordered):
        send_order(ordered.order, by=None, at=SENT)
        bring(supplier, site, ordered, 2)
        assert OrderLine.objects.special(site).unfinished().exists()
        release_hold(Hold.objects.get(), words="Not collected")
        assert told(site).state == "came, and left its hold"
        assert not OrderLine.objects.special(site).unfinished().exists()

    def test_what_will_not_come_is_to_be_ordered_elsewhere(self, site, supplier, ordered):
        send_order(ordered.order, by=None, at=SENT)
        withdraw_order(ordered.order, by=None)
        one = told(site)
        assert (one.state, one.next_step) == (
            "withdrawn",
            "Order it elsewhere, or tell the customer",
        )

    def test_what_the_shelf_orders_is_not_special(self, site, supplier):
        add_to_draft(supplier, site=site, part=make_part(), pieces=1, by=None)
        assert not OrderLine.objects.special(site).exists()
