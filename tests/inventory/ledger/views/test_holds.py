from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from inventory.ledger.actions import hold_parts, mark_arrived
from inventory.ledger.models import Hold, Posting
from inventory.shop.models import ShopSettings
from tests.inventory.ledger.views.pages import free, send, stock, text_of
from tests.make import make_part

pytestmark = pytest.mark.django_db


def held(site, job, days=None, pieces=2, arrived=False):
    part = make_part(number=f"PN {job}")
    stock(part, site, pieces)
    until = None if days is None else timezone.now() + timedelta(days=days)
    hold = hold_parts(
        part, site=site, pieces=pieces, job_key=job, by=None, key=job, expires_at=until
    )
    if arrived:
        mark_arrived(hold)
    return hold


def listed(client):
    return text_of(client.get(reverse("inventory:hold_list")))


class TestHoldList:
    def test_says_what_is_over_and_whom_to_call(self, technician, site, other):
        held(site, "J OVER", days=-1, arrived=True)
        held(site, "J CALL", arrived=True)
        held(site, "J CALLED", days=2, arrived=True)
        held(site, "J HELD", days=2)
        held(other, "J ELSEWHERE")
        text = listed(technician)
        assert "1 promise over, of 4 at Mill Road" in text
        order = ["J OVER", "Arrived: call", "J CALL", "J CALLED", ">Held<", "J HELD"]
        places = [text.index(words) for words in order]
        assert places == sorted(places)
        assert "J ELSEWHERE" not in text

    def test_nothing_promised(self, technician):
        assert "Nothing is promised at Mill Road" in listed(technician)

    def test_costs_the_same_for_many(self, technician, site, django_assert_num_queries):
        ShopSettings.load()
        for jobs in (range(1), range(1, 9)):
            for job in jobs:
                held(site, f"J {job}", days=1)
            with django_assert_num_queries(5):
                listed(technician)


class TestHoldCall:
    def test_gives_the_customer_days_to_collect(self, technician, site):
        hold = held(site, "J 1", arrived=True)
        send(technician, "hold_call", hold, site, days=3)
        hold.refresh_from_db()
        assert (hold.expires_at - timezone.now()).days in {2, 3}
        assert "Arrived and called, not collected yet" in listed(technician)

    def test_what_is_held_no_more_says_so(self, technician, site):
        hold = held(site, "J 1")
        Hold.objects.update(pieces=0)
        answer = send(technician, "hold_call", hold, site, days=3)
        assert "Nothing is held for J 1 any more;" in text_of(answer)

    @pytest.mark.parametrize("days", ["0", "x", "9999"])
    def test_odd_days_change_nothing(self, technician, site, days):
        hold = held(site, "J 1")
        assert send(technician, "hold_call", hold, site, days=days).status_code == 200
        assert Hold.objects.get().expires_at is None


class TestHoldIssue:
    def test_the_customer_came(self, technician, site):
        hold = held(site, "J 1", arrived=True)
        for _ in range(2):
            answer = send(technician, "hold_issue", hold, site, pieces=2)
            assert "Issued: 2 pieces for J 1." in text_of(answer)
        assert Posting.objects.get(key="form-1").hold == hold
        assert not Hold.objects.standing().exists()


class TestHoldRelease:
    def test_frees_the_pieces(self, manager, site):
        hold = held(site, "J 1", days=-1)
        send(manager, "hold_release", hold, site)
        assert free(hold.shelf.part, site) == 2

    def test_is_not_for_the_technician(self, technician, site):
        hold = held(site, "J 1")
        assert send(technician, "hold_release", hold, site).status_code == 403
        assert free(hold.shelf.part, site) == 0
