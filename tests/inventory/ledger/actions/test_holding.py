from datetime import timedelta

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone

from inventory.ledger.actions import (
    hold_parts,
    issue_stock,
    mark_arrived,
    release_hold,
)
from inventory.ledger.audit import audit
from inventory.ledger.models import Hold, Shelf
from tests.make import make_part, make_stock

pytestmark = pytest.mark.django_db


@pytest.fixture
def kit(site):
    part = make_part(kind="kit", number="KT-4")
    make_stock(part, site, pieces=3)
    return part


def hold(part, site, pieces=2, **facts):
    facts = {"job_key": "J-1", "by": None, "key": "h1"} | facts
    return hold_parts(part, site=site, pieces=pieces, **facts)


class TestHoldParts:
    def test_promises_what_is_there_once_per_key(self, kit, site):
        assert hold(kit, site) == hold(kit, site)
        shelf = Shelf.objects.get()
        assert (shelf.on_hand, shelf.held, shelf.available) == (3, 2, 1)
        assert audit() == []

    def test_refuses_to_promise_more_than_is_free(self, kit, site):
        hold(kit, site)
        with pytest.raises(ValidationError) as refused:
            hold(kit, site, key="h2", job_key="J-2")
        assert refused.value.messages == [
            "Only 1 of KT-4 free at Quay, not 2; the other 2 are promised to jobs: "
            "hold 1 or fewer, or release a hold first."
        ]
        assert Hold.objects.count() == 1

    def test_needs_its_job(self, kit, site):
        with pytest.raises(ValidationError) as refused:
            hold(kit, site, job_key="")
        assert refused.value.messages == ["A hold needs the job it is for; write its number."]


class TestReleaseHold:
    def test_gives_the_rest_back_once(self, kit, site):
        made = hold(kit, site)
        issue_stock(kit, site=site, pieces=1, by=None, key="i1", hold=made)
        for _ in range(2):
            release_hold(made, words="not collected")
        shelf = Shelf.objects.get()
        assert (shelf.on_hand, shelf.held) == (2, 0)
        assert Hold.objects.get().words == "not collected"
        assert audit() == []


class TestExpired:
    def test_a_promise_whose_time_is_over_stands_until_somebody_decides(self, kit, site):
        now = timezone.now()
        hold(kit, site, 1, key="old", expires_at=now - timedelta(minutes=1))
        hold(kit, site, 1, key="new", expires_at=now + timedelta(days=1))
        hold(kit, site, 1, key="open")
        assert [one.key for one in Hold.objects.expired(now)] == ["old"]


class TestMarkArrived:
    def test_remembers_the_first_arrival(self, kit, site):
        made, first = hold(kit, site), timezone.now()
        mark_arrived(made, at=first)
        mark_arrived(made)
        made.refresh_from_db()
        assert made.arrived_at == first
