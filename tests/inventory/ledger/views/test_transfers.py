import pytest
from django.urls import reverse

from inventory.ledger.actions import receive_transfer, send_transfer
from inventory.ledger.audit import audit
from inventory.ledger.models import Borrowed, Posting, Transfer
from inventory.shop.models import ShopSettings
from tests.inventory.ledger.views.pages import free, send, stock, text_of
from tests.make import make_bin, make_part

pytestmark = pytest.mark.django_db


def sent(part, here, there, pieces=2, **facts):
    key = f"t{Transfer.objects.count()}"
    return send_transfer(
        part, from_site=here, to_site=there, pieces=pieces, by=None, key=key, **facts
    )


def borrowed(part, lender, site):
    transfer = sent(part, lender, site, borrowed=Borrowed.SEND_BACK)
    return receive_transfer(transfer, by=None, key=f"got {transfer.key}")


@pytest.fixture
def part(other):
    kit = make_part("kit", number="KT-4")
    stock(kit, other, 4)
    return kit


def listed(client):
    return text_of(client.get(reverse("inventory:transfer_list")))


class TestTransferList:
    def test_says_what_comes_and_what_left(self, technician, site, other, part):
        assert "Nothing is on the road to Mill Road" in listed(technician)
        sent(part, other, site)
        stock(make_part(number="AWAY"), site, 1)
        text = listed(technician)
        assert "1 to receive at Mill Road" in text
        assert "from Harbour, sent " in text

    def test_says_what_was_lent(self, technician, site, other):
        kit = make_part("kit", number="LENT")
        stock(kit, site, 2)
        borrowed(kit, site, other)
        assert "Lent from here, to come back" in listed(technician)

    def test_costs_the_same_for_many(
        self, technician, site, other, part, django_assert_num_queries
    ):
        ShopSettings.load()
        for count in (1, 6):
            for _ in range(count):
                stock(part, other, 4)
                sent(part, other, site)
                borrowed(part, other, site)
            with django_assert_num_queries(10):
                listed(technician)


class TestTransferReceive:
    def test_puts_it_on_the_shelf_here_once(self, technician, site, other, part):
        transfer, bin = sent(part, other, site), make_bin(site, code="A3")
        for _ in range(2):
            answer = send(technician, "transfer_receive", transfer, site, bin=bin.pk)
            assert "2 pieces to bin A3, HARB to MILL." in text_of(answer)
        assert free(part, site) == 2
        assert audit() == []

    def test_what_was_lost_on_the_road_is_scrapped_there_once(self, technician, site, other, part):
        transfer = sent(part, other, site)
        for _ in range(2):
            send(technician, "transfer_receive", transfer, site, bin="", lost=1)
        assert free(part, site) == 1
        assert Posting.objects.get(kind="scrapped").words == "Lost on the road"
        assert audit() == []

    def test_a_second_person_is_told_it_is_here(self, technician, site, other, part):
        transfer = sent(part, other, site)
        send(technician, "transfer_receive", transfer, site, bin="")
        answer = send(technician, "transfer_receive", transfer, site, key="form-2", bin="")
        assert "This transfer was received already; nothing is on the road." in text_of(answer)

    def test_is_received_only_where_it_goes(self, technician, site, other, part):
        transfer = sent(part, other, site)
        assert send(technician, "transfer_receive", transfer, other).status_code == 404


class TestTransferSendBack:
    def test_borrowed_goes_home_and_its_undo_brings_the_choice_back(
        self, technician, site, other, part
    ):
        transfer = borrowed(part, other, site)
        send(technician, "transfer_send_back", transfer, site)
        assert free(part, site) == 0
        assert "Borrowed: send back or keep" not in listed(technician)
        posting = Posting.objects.get(key="form-1")
        technician.post(reverse("inventory:posting_undo", args=[posting.pk]), {"key": "u"})
        assert free(part, site) == 2
        assert "Borrowed: send back or keep" in listed(technician)
        send(technician, "transfer_send_back", transfer, site, key="form-2")
        assert free(part, site) == 0
        assert audit() == []

    def test_what_was_issued_since_cannot_go_back(self, technician, site, other, part):
        transfer = borrowed(part, other, site)
        send(technician, "part_issue", part, site, key="i", pieces=1)
        answer = send(technician, "transfer_send_back", transfer, site)
        assert (
            "Only 1 of KT-4 on the shelf at Mill Road, not 2; "
            "send 1 or fewer, or receive stock first." in text_of(answer)
        )


class TestTransferKeep:
    def test_borrowed_stays(self, technician, site, other, part):
        transfer = borrowed(part, other, site)
        answer = send(technician, "transfer_keep", transfer, site)
        assert "2 of KT-4 stay at Mill Road." in text_of(answer)
        assert not Transfer.objects.to_send_back().exists()

    def test_what_is_on_its_way_back_is_not_kept(self, technician, site, other, part):
        transfer = borrowed(part, other, site)
        send(technician, "transfer_send_back", transfer, site)
        answer = send(technician, "transfer_keep", transfer, site, key="form-2")
        assert "This is on its way back already; receive it there instead." in text_of(answer)
