from datetime import date

import pytest

from inventory.reorder.actions.orders import add_to_draft, send_order
from inventory.reorder.models import Order, OrderLine, OrderStatus
from inventory.shop.roles import Role
from tests.inventory.reorder.pages import page
from tests.make import make_part, make_supplier, make_user

pytestmark = pytest.mark.django_db


class TestOrderNew:
    def test_puts_a_part_on_the_draft_without_any_plan(self, manager, supplier):
        make_part(number="QX-4410")
        said = {"part": "qx 4410", "pieces": "10"}
        answer = manager.post(f"/suppliers/{supplier.pk}/order/", said)
        line = OrderLine.objects.get()
        assert answer.url == f"/orders/{line.order_id}/"
        assert (line.order.supplier, line.pieces) == (supplier, 10)

    def test_refuses_a_part_that_is_not_listed(self, manager, supplier):
        answer = manager.post(f"/suppliers/{supplier.pk}/order/", {"part": "QX", "pieces": "1"})
        assert "No part has the code “QX”; check it or search by words." in answer.content.decode()
        assert not Order.objects.exists()


class TestOrderDraft:
    def test_drafts_what_the_plan_suggests(self, manager, plan_line, supplier):
        answer = manager.post(f"/suppliers/{supplier.pk}/draft/")
        line = OrderLine.objects.get()
        assert answer.url == f"/orders/{line.order_id}/"
        assert (line.packs, line.pack) == (3, 4)

    def test_with_nothing_to_order_says_so(self, manager, run, supplier):
        answer = manager.post(f"/suppliers/{supplier.pk}/draft/", follow=True)
        assert "Nothing of this plan is left to order from" in answer.content.decode()
        assert not Order.objects.exists()


class TestOrderList:
    def test_says_what_is_late(self, manager, sent):
        Order.objects.update(expected_on=date(2020, 1, 1))
        assert "1 order on the way, 1 late" in page(manager, "/orders/")
        assert sent.key in page(manager, "/orders/?show=late")

    def test_past_orders_have_their_own_list(self, manager, draft):
        Order.objects.update(status=OrderStatus.WITHDRAWN)
        assert draft.key not in page(manager, "/orders/")
        assert draft.key in page(manager, "/orders/?show=past")

    def test_costs_the_same_for_many_orders(self, manager, site, draft, django_assert_num_queries):
        with django_assert_num_queries(9):
            page(manager, "/orders/")
        for _ in range(10):
            add_to_draft(make_supplier(), site=site, part=make_part(), pieces=1, by=None)
        with django_assert_num_queries(9):
            page(manager, "/orders/")


class TestOrderDetail:
    def test_a_draft_can_be_edited(self, manager, draft):
        text = page(manager, f"/orders/{draft.pk}/")
        assert "Order 1 line from Blyth Valve Supply" in text
        assert "Mark as sent" in text
        assert "Receive what came" not in text

    def test_a_sent_order_leads_to_receiving(self, manager, sent):
        text = page(manager, f"/orders/{sent.pk}/")
        assert f'href="/orders/{sent.pk}/receive/"' in text
        assert "1 line still to come from Blyth Valve Supply" in text
        assert "Receive what came" in text

    def test_costs_the_same_for_many_lines(
        self, manager, site, supplier, draft, django_assert_num_queries
    ):
        with django_assert_num_queries(7):
            page(manager, f"/orders/{draft.pk}/")
        for _ in range(10):
            add_to_draft(supplier, site=site, part=make_part(), pieces=1, by=None)
        with django_assert_num_queries(7):
            page(manager, f"/orders/{draft.pk}/")

    @pytest.mark.parametrize(("kind", "start"), [("pdf", b"%PDF-"), ("xlsx", b"PK")])
    def test_can_be_taken_along(self, manager, draft, kind, start):
        answer = manager.get(f"/orders/{draft.pk}/?as={kind}")
        assert answer.content.startswith(start)
        assert f'filename="{draft}.{kind}"' in answer["Content-Disposition"]


class TestOrderChange:
    def test_saves_the_packs(self, manager, draft):
        line = draft.lines.get()
        manager.post(f"/orders/{draft.pk}/change/", {f"packs_{line.pk}": 5})
        line.refresh_from_db()
        assert line.packs == 5

    def test_a_refusal_stands_on_the_page(self, manager, draft):
        line = draft.lines.get()
        line.part.offers.update(minimum_packs=3)
        answer = manager.post(f"/orders/{draft.pk}/change/", {f"packs_{line.pk}": 1})
        assert "sells QX-4410 from 3 packs; order 3 or more" in answer.content.decode()


class TestOrderAdd:
    def test_finds_the_part_by_any_code(self, manager, draft):
        part = make_part(number="RZ-77")
        manager.post(f"/orders/{draft.pk}/add/", {"part": "rz 77", "pieces": 2})
        assert draft.lines.get(part=part).pieces == 2

    def test_an_unknown_code_says_what_to_do(self, manager, draft):
        answer = manager.post(f"/orders/{draft.pk}/add/", {"part": "nothing", "pieces": 2})
        assert "No part has the code “nothing”; check it or search by words." in (
            answer.content.decode()
        )


class TestOrderSend:
    def send(self, manager, draft, packs):
        line = draft.lines.get()
        return manager.post(f"/orders/{draft.pk}/send/", {f"packs_{line.pk}": packs}, follow=True)

    def test_marks_it_as_sent_with_the_quantities_of_the_page(self, manager, draft):
        self.send(manager, draft, 5)
        draft.refresh_from_db()
        assert (draft.status, draft.expected_on is not None) == (OrderStatus.SENT, True)
        assert draft.lines.get().packs == 5

    def test_a_quantity_that_is_none_is_not_sent(self, manager, draft):
        answer = self.send(manager, draft, "many")
        assert "Enter a whole number." in answer.content.decode()
        draft.refresh_from_db()
        assert draft.status == OrderStatus.DRAFT

    def test_a_second_click_changes_nothing(self, manager, draft):
        self.send(manager, draft, 5)
        self.send(manager, draft, 7)
        assert draft.lines.get().packs == 5

    def test_an_empty_draft_says_so(self, manager, draft):
        draft.lines.all().delete()
        answer = manager.post(f"/orders/{draft.pk}/send/", follow=True)
        assert "has no lines; add a part before you send it." in answer.content.decode()


class TestOrderWithdraw:
    def test_expects_nothing_more(self, manager, sent):
        manager.post(f"/orders/{sent.pk}/withdraw/")
        sent.refresh_from_db()
        assert sent.status == OrderStatus.WITHDRAWN

    def test_a_delivered_order_says_so(self, manager, sent):
        Order.objects.update(status=OrderStatus.DELIVERED)
        answer = manager.post(f"/orders/{sent.pk}/withdraw/", follow=True)
        assert "send parts back to the supplier instead." in answer.content.decode()


class TestSpecialList:
    def order(self, site, supplier, **facts):
        part = make_part()
        line = add_to_draft(
            supplier, site=site, part=part, pieces=1, job_key="J-7", by=None, **facts
        )
        return send_order(line.order, by=None)

    def test_says_what_is_late(self, manager, site, supplier):
        self.order(site, supplier, wish=True)
        Order.objects.update(expected_on=date(2020, 1, 1))
        text = page(manager, "/orders/special/")
        assert "1 part ordered for jobs, 1 late" in text
        assert "customer’s own choice" in text

    def test_what_is_done_has_its_own_list(self, manager, site, supplier):
        order = self.order(site, supplier)
        Order.objects.update(status=OrderStatus.WITHDRAWN)
        assert "Nothing is on order for a job" in page(manager, "/orders/special/")
        assert order.key in page(manager, "/orders/special/?show=past")

    def test_costs_the_same_for_many(self, manager, site, supplier, django_assert_num_queries):
        self.order(site, supplier)
        with django_assert_num_queries(6):
            page(manager, "/orders/special/")
        for _ in range(10):
            self.order(site, make_supplier())
        with django_assert_num_queries(6):
            page(manager, "/orders/special/")


class TestRoles:
    @pytest.mark.parametrize("address", ["/plan/", "/plan/parts/", "/orders/", "/suppliers/"])
    def test_a_technician_sees_no_cost(self, client, site, address):
        client.force_login(make_user(Role.TECHNICIAN, home_site=site))
        assert client.get(address).status_code == 403
