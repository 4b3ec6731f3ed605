from datetime import UTC, date, datetime, time

import pytest
from django.core.exceptions import ValidationError

from inventory.ledger.models import Ask
from inventory.reorder.actions.orders import (
    add_to_draft,
    change_lines,
    cheapest_offer,
    draft_order,
    send_order,
    withdraw_order,
)
from inventory.reorder.models import Order, OrderLine, OrderStatus
from tests.make import make_offer, make_part, make_plan_line, make_site, make_supplier

pytestmark = pytest.mark.django_db

WEDNESDAY = datetime(2026, 3, 4, 14, 0, tzinfo=UTC)


@pytest.fixture
def site():
    return make_site(name="Quay Street")


@pytest.fixture
def supplier():
    return make_supplier(code="BLY", name="Blyth Valve Supply")


class TestDraftOrder:
    def test_takes_what_the_plan_suggests(self, site, supplier):
        line = make_plan_line(site, supplier, suggested_packs=3, pack=4, pack_price_cents=1037)
        order = draft_order([line], by=None)
        drafted = order.lines.get()
        assert (drafted.packs, drafted.pack, drafted.pack_price_cents) == (3, 4, 1037)
        assert (order.status, drafted.suggested_packs) == (OrderStatus.DRAFT, 3)

    def test_twice_drafts_once(self, site, supplier):
        line = make_plan_line(site, supplier, suggested_packs=3)
        assert draft_order([line], by=None) == draft_order([line], by=None)
        assert OrderLine.objects.get().packs == 3

    def test_a_new_plan_moves_the_lines_nobody_edited(self, site, supplier):
        part = make_part()
        draft_order([make_plan_line(site, supplier, part=part, suggested_packs=3)], by=None)
        draft_order([make_plan_line(site, supplier, part=part, suggested_packs=5)], by=None)
        assert OrderLine.objects.get().packs == 5

    def test_an_edit_is_kept_beside_the_new_suggestion(self, site, supplier):
        part = make_part()
        order = draft_order([make_plan_line(site, supplier, part=part, suggested_packs=3)], by=None)
        change_lines(order, packs={order.lines.get().pk: 8}, by=None)
        draft_order([make_plan_line(site, supplier, part=part, suggested_packs=5)], by=None)
        line = OrderLine.objects.get()
        assert (line.packs, line.suggested_packs, line.is_edited) == (8, 5, True)

    def test_refuses_lines_of_two_suppliers(self, site, supplier):
        lines = [
            make_plan_line(site, supplier, suggested_packs=1),
            make_plan_line(site, make_supplier(), suggested_packs=1),
        ]
        with pytest.raises(ValidationError) as refused:
            draft_order(lines, by=None)
        assert refused.value.messages == [
            "Lines of one supplier and one site go on one order; choose those and draft again."
        ]

    def test_costs_the_same_for_many_lines(self, site, supplier, django_assert_max_num_queries):
        lines = [make_plan_line(site, supplier, suggested_packs=1) for _ in range(30)]
        with django_assert_max_num_queries(12):
            draft_order(lines, by=None)


class TestAddToDraft:
    def test_orders_whole_packs_at_the_price_for_so_many(self, site, supplier):
        part = make_part()
        make_offer(supplier, part, pack=5, pack_price_cents=1_003, breaks={10: 871})
        line = add_to_draft(supplier, site=site, part=part, pieces=48, by=None)
        assert (line.packs, line.pieces, line.pack_price_cents) == (10, 50, 871)

    def test_orders_at_least_the_minimum(self, site, supplier):
        part = make_part()
        make_offer(supplier, part, pack=1, minimum_packs=4)
        assert add_to_draft(supplier, site=site, part=part, pieces=1, by=None).packs == 4

    def test_again_keeps_the_larger_quantity(self, site, supplier):
        part = make_part()
        for pieces in (3, 2, 3):
            line = add_to_draft(supplier, site=site, part=part, pieces=pieces, by=None)
        assert line.pieces == 3
        assert OrderLine.objects.count() == 1

    def test_without_an_offer_the_price_is_not_known(self, site, supplier):
        line = add_to_draft(supplier, site=site, part=make_part(), pieces=2, by=None)
        assert (line.pieces, line.pack_price_cents) == (2, None)

    def test_a_job_has_its_own_line(self, site, supplier):
        part = make_part()
        add_to_draft(supplier, site=site, part=part, pieces=2, by=None)
        add_to_draft(supplier, site=site, part=part, pieces=1, job_key="J-1", by=None)
        assert list(OrderLine.objects.values_list("line", "job_key")) == [(1, ""), (2, "J-1")]

    def test_a_wish_leaves_the_demand_alone(self, site, supplier):
        part = make_part()
        for _ in range(2):
            add_to_draft(
                supplier, site=site, part=part, pieces=1, job_key="J-1", wish=True, by=None
            )
        ask = Ask.objects.get()
        assert (ask.job_key, ask.pieces, ask.wish) == ("J-1", 1, True)

    def test_refuses_a_wish_without_its_job(self, site, supplier):
        with pytest.raises(ValidationError) as refused:
            add_to_draft(supplier, site=site, part=make_part(), pieces=1, wish=True, by=None)
        assert refused.value.messages == ["A customer's own choice is ordered for a job; name it."]

    def test_refuses_nothing(self, site, supplier):
        part = make_part(number="QX-4410")
        with pytest.raises(ValidationError) as refused:
            add_to_draft(supplier, site=site, part=part, pieces=0, by=None)
        assert refused.value.messages == ["Order at least 1 of QX-4410; got 0."]


class TestChangeLines:
    def test_changes_packs_and_their_price(self, site, supplier):
        part = make_part()
        make_offer(supplier, part, pack=1, pack_price_cents=1_003, breaks={10: 871})
        line = add_to_draft(supplier, site=site, part=part, pieces=1, by=None)
        change_lines(line.order, packs={line.pk: 12}, by=None)
        line.refresh_from_db()
        assert (line.packs, line.pack_price_cents) == (12, 871)

    def test_zero_takes_the_line_off(self, site, supplier):
        line = add_to_draft(supplier, site=site, part=make_part(), pieces=1, by=None)
        change_lines(line.order, packs={line.pk: 0}, by=None)
        assert not OrderLine.objects.exists()

    def test_refuses_fewer_than_the_supplier_sells(self, site, supplier):
        part = make_part(number="QX-4410")
        make_offer(supplier, part, minimum_packs=4)
        line = add_to_draft(supplier, site=site, part=part, pieces=4, by=None)
        with pytest.raises(ValidationError) as refused:
            change_lines(line.order, packs={line.pk: 2}, by=None)
        assert refused.value.messages == [
            "Blyth Valve Supply sells QX-4410 from 4 packs; order 4 or more, "
            "or 0 to take the line off."
        ]

    def test_refuses_once_sent(self, site, supplier):
        line = add_to_draft(supplier, site=site, part=make_part(), pieces=1, by=None)
        order = send_order(line.order, by=None)
        with pytest.raises(ValidationError) as refused:
            change_lines(order, packs={line.pk: 2}, by=None)
        assert refused.value.messages == [
            f"Order {order} is sent; only a draft lets you change its lines."
        ]


class TestSendOrder:
    def test_expects_it_after_the_next_order_day(self, supplier, site):
        # Wednesday 14:00, orders leave Tuesday and Thursday, three days on the road: Sunday.
        supplier.order_days, supplier.stated_lead_days = "24", 3
        supplier.save()
        line = add_to_draft(supplier, site=site, part=make_part(), pieces=1, by=None)
        order = send_order(line.order, by=None, at=WEDNESDAY)
        assert (order.status, order.expected_on) == (OrderStatus.SENT, date(2026, 3, 8))

    def test_after_the_cut_off_the_next_day_counts(self, supplier, site):
        supplier.cut_off, supplier.stated_lead_days = time(13, 0), 1
        supplier.save()
        line = add_to_draft(supplier, site=site, part=make_part(), pieces=1, by=None)
        assert send_order(line.order, by=None, at=WEDNESDAY).expected_on == date(2026, 3, 6)

    def test_twice_sends_once(self, supplier, site):
        line = add_to_draft(supplier, site=site, part=make_part(), pieces=1, by=None)
        first = send_order(line.order, by=None, at=WEDNESDAY)
        assert send_order(line.order, by=None).sent_at == first.sent_at

    def test_refuses_an_empty_draft(self, supplier, site):
        line = add_to_draft(supplier, site=site, part=make_part(), pieces=1, by=None)
        line.delete()
        with pytest.raises(ValidationError) as refused:
            send_order(line.order, by=None)
        assert refused.value.messages == [
            f"Order {line.order} has no lines; add a part before you send it."
        ]

    def test_the_next_draft_has_its_own_number(self, supplier, site):
        part = make_part()
        first = add_to_draft(supplier, site=site, part=part, pieces=1, by=None).order
        send_order(first, by=None)
        second = add_to_draft(supplier, site=site, part=part, pieces=1, by=None).order
        assert (first.key[-2:], second.key[-2:]) == ("-1", "-2")


class TestWithdrawOrder:
    def test_expects_nothing_more(self, supplier, site):
        line = add_to_draft(supplier, site=site, part=make_part(), pieces=3, by=None)
        send_order(line.order, by=None)
        assert withdraw_order(line.order, by=None).status == OrderStatus.WITHDRAWN
        line.refresh_from_db()
        assert (line.pieces_withdrawn, line.pieces_open) == (3, 0)
        assert not OrderLine.objects.coming().exists()

    def test_twice_withdraws_once(self, supplier, site):
        line = add_to_draft(supplier, site=site, part=make_part(), pieces=3, by=None)
        withdraw_order(line.order, by=None)
        assert withdraw_order(line.order, by=None).status == OrderStatus.WITHDRAWN

    def test_leaves_room_for_a_new_draft(self, supplier, site):
        line = add_to_draft(supplier, site=site, part=make_part(), pieces=3, by=None)
        withdraw_order(line.order, by=None)
        again = add_to_draft(supplier, site=site, part=line.part, pieces=3, by=None)
        assert again.order != line.order
        assert Order.objects.drafts().count() == 1


class TestCheapestOffer:
    def test_counts_what_the_whole_quantity_costs(self, supplier):
        # 10 pieces: 10 × 100 = 1,000 piece by piece, 2 packs of 6 at 480 = 960.
        part = make_part()
        make_offer(supplier, part, pack=1, pack_price_cents=100, valid_from=date(2026, 1, 1))
        packs = make_offer(supplier, part, pack=6, pack_price_cents=480)
        day = date(2026, 3, 4)
        assert cheapest_offer(supplier, part, pieces=10, day=day) == packs

    def test_offers_not_valid_that_day_do_not_count(self, supplier):
        part = make_part()
        make_offer(supplier, part, valid_from=date(2026, 4, 1))
        assert cheapest_offer(supplier, part, pieces=1, day=date(2026, 3, 4)) is None
