"""Many people at one shelf: nothing lost, nothing doubled, nothing below zero."""

import threading
import time
from collections.abc import Callable

import pytest
from django.core.exceptions import ValidationError
from django.db import connection

from inventory.ledger.actions import issue_stock
from inventory.ledger.audit import audit
from inventory.ledger.models import Ask, Movement, Posting, PostingKind, Shelf
from tests.make import make_part, make_site, make_stock
from tests.soak import soak

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.soak]

THREADS = 8
ISSUES = soak(40, 500)
PARTS = 5
# Scarce: there is less on the shelf than all threads together ask for.
PIECES = THREADS * ISSUES // PARTS * 3 // 4


def together(work: Callable[[int], None]) -> list[Exception]:
    """Run the work in eight threads at once, each with a connection of its own."""
    start, faults = threading.Barrier(THREADS), []

    def run(number: int) -> None:
        start.wait()
        try:
            work(number)
        except Exception as fault:
            faults.append(fault)
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=[number]) for number in range(THREADS)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return faults


@pytest.fixture
def shelves():
    site = make_site()
    parts = [make_part(kind="kit") for _ in range(PARTS)]
    for part in parts:
        make_stock(part, site, pieces=PIECES, value_cents=PIECES * 137 + 1)
    return site, parts


class TestIssuesAtOnce:
    def test_nothing_is_lost_doubled_or_negative(self, shelves):
        site, parts = shelves
        refused: list[str] = []

        def work(number):
            for turn in range(ISSUES):
                part = parts[(number + turn) % PARTS]
                try:
                    key = f"{number}-{turn}"
                    issue_stock(part, site=site, pieces=1, by=None, key=key)
                except ValidationError as refusal:
                    refused.append(refusal.messages[0])

        assert together(work) == []
        issued = Posting.objects.filter(kind=PostingKind.ISSUED).count()
        assert issued + len(refused) == THREADS * ISSUES
        assert refused, "the stock was not scarce"
        assert all("receive stock first." in sentence for sentence in refused)
        for shelf in Shelf.objects.all():
            gone = Movement.objects.filter(part=shelf.part_id, pieces__lt=0).count()
            assert shelf.on_hand == PIECES - gone == 0
        assert Ask.objects.count() == issued
        assert audit() == []

    def test_one_key_posts_once_however_many_send_it(self, shelves):
        site, parts = shelves

        def work(number):
            for turn in range(ISSUES // 4):
                issue_stock(parts[0], site=site, pieces=1, by=None, key=f"same-{turn}")

        assert together(work) == []
        assert Posting.objects.filter(kind=PostingKind.ISSUED).count() == ISSUES // 4
        assert Shelf.objects.get(part=parts[0]).on_hand == PIECES - ISSUES // 4
        assert audit() == []


class TestNaive:
    def test_reading_first_and_writing_then_loses_pieces(self, shelves):
        """The race above can fail: this is what it would look like."""
        if connection.vendor == "sqlite":
            pytest.skip("SQLite serves one writer at a time; run this on PostgreSQL.")
        site, parts = shelves
        done: list[int] = []

        def work(number):
            for _ in range(ISSUES // 4):
                shelf = Shelf.objects.get(part=parts[0], site=site)
                if shelf.on_hand > 0:
                    time.sleep(0.001)
                    shelf.on_hand -= 1
                    shelf.usable -= 1
                    shelf.save()
                    done.append(1)

        assert together(work) == []
        assert Shelf.objects.get(part=parts[0]).on_hand > PIECES - len(done)
