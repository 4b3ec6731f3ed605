"""Many people at one shelf: nothing lost, nothing doubled, nothing below zero."""

import random
import re
import threading
import time
from collections.abc import Callable

import pytest
from django.core.exceptions import ValidationError
from django.db import connection

from inventory.catalog.models import MadeOf
from inventory.ledger.actions import (
    count_stock,
    hold_parts,
    issue_stock,
    keep_borrowed,
    move_stock,
    put_together,
    receive_stock,
    receive_transfer,
    release_hold,
    return_stock,
    revalue_stock,
    send_back,
    send_transfer,
    take_apart,
    undo_posting,
)
from inventory.ledger.actions.moving import road_site
from inventory.ledger.audit import audit
from inventory.ledger.models import (
    Ask,
    Borrowed,
    Condition,
    Hold,
    Lot,
    Movement,
    Posting,
    PostingKind,
    Shelf,
    Transfer,
)
from tests.make import make_part, make_site, make_stock
from tests.soak import soak

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.soak]

THREADS = 8
ISSUES = soak(40, 500)
PARTS = 5
# Scarce: there is less on the shelf than all threads together ask for.
PIECES = THREADS * ISSUES // PARTS * 3 // 4
REFUSED_BORROWED = re.compile(
    r"This is on its way back already(, as out-\d+-back-\d\.|; receive it there instead\.)$"
    r"|Only what was borrowed and has arrived is sent back\.$"
)


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


class TestMixedPostings:
    """Everything a busy shop does at once, on few parts: refused in words, or done and proven."""

    def test_only_refusals_and_a_clean_audit(self):
        sites = [make_site(), make_site()]
        road_site()
        whole, body, stem = make_part(), make_part("body"), make_part("stem")
        for piece in (body, stem):
            MadeOf.objects.create(whole=whole, piece=piece)
        parts = [whole, body, stem, *(make_part(kind="kit") for _ in range(17))]
        for part in parts:
            for site in sites:
                make_stock(part, site, pieces=6, value_cents=1001)
        refused: list[str] = []

        def work(number):
            chance = random.Random(number)
            for turn in range(ISSUES):
                part, site = chance.choice(parts), chance.choice(sites)
                shop = Shop(part, site, sites, f"{number}-{turn}", chance)
                try:
                    shop.do_something()
                except ValidationError as refusal:
                    refused.extend(refusal.messages)

        assert together(work) == []
        assert refused, "the stock was not scarce"
        assert audit() == []
        assert not Shelf.objects.filter(on_hand__lt=0).exists()


class Shop:
    def __init__(self, part, site, sites, key, chance):
        self.part, self.site, self.chance = part, site, chance
        self.other = sites[0] if site == sites[1] else sites[1]
        self.plain = {"key": key, "by": None}

    def do_something(self):
        chosen = self.chance.choices(
            [self.receive, self.issue, self.give_back, self.promise, self.count, self.move,
             self.travel, self.undo, self.apart, self.together, self.correct],
            [4, 8, 2, 2, 1, 2, 2, 2, 2, 2, 1],
        )  # fmt: skip
        chosen[0]()

    def pick(self, rows):
        found = list(rows.order_by("-pk")[:20])
        return self.chance.choice(found) if found else None

    def receive(self):
        receive_stock(self.part, site=self.site, pieces=2, value_cents=333, **self.plain)

    def issue(self):
        hold = self.pick(
            Hold.objects.standing().filter(shelf__part=self.part, shelf__site=self.site)
        )
        issue_stock(
            self.part, site=self.site, pieces=self.chance.randint(1, 3), hold=hold, **self.plain
        )

    def give_back(self):
        issued = Movement.objects.filter(posting__kind=PostingKind.ISSUED, part=self.part)
        if one := self.pick(issued):
            return_stock(one, pieces=1, condition=Condition.OPENED, **self.plain)

    def promise(self):
        made = hold_parts(self.part, site=self.site, pieces=1, job_key="J-1", **self.plain)
        if self.chance.random() < 0.5:
            release_hold(made, words="not collected")

    def count(self):
        count_stock(self.part, site=self.site, counted=4, unit_cents=100, **self.plain)

    def move(self):
        if lot := self.pick(Lot.objects.left().filter(shelf__part=self.part)):
            move_stock(lot, pieces=1, to_site=self.other, **self.plain)

    def travel(self):
        sent = send_transfer(
            self.part, from_site=self.site, to_site=self.other, pieces=1, **self.plain
        )
        receive_transfer(sent, by=None, key=f"{sent.key}-arrived")

    def undo(self):
        if one := self.pick(Posting.objects.standing().filter(movements__part=self.part)):
            undo_posting(one, **self.plain)

    def apart(self):
        take_apart(self.part, site=self.site, **self.plain)

    def together(self):
        put_together(self.part, site=self.site, **self.plain)

    def correct(self):
        received = Movement.objects.filter(posting__kind=PostingKind.RECEIVED, part=self.part)
        if one := self.pick(received):
            revalue_stock(one, value_cents=self.chance.randint(100, 999), **self.plain)


class TestBorrowed:
    """Sent back once or kept, however many decide at once, and whatever else is there to send."""

    @pytest.mark.parametrize("others_there", [0, THREADS])
    def test_goes_back_once_or_stays(self, others_there):
        lender, borrower, kit = make_site(), make_site(), make_part("kit")
        for turn in range(ISSUES // 8):
            make_stock(kit, lender, pieces=1)
            lent = send_transfer(
                kit,
                from_site=lender,
                to_site=borrower,
                pieces=1,
                by=None,
                key=f"out-{turn}",
                borrowed=Borrowed.SEND_BACK,
            )
            receive_transfer(lent, by=None, key=f"in-{turn}")
            if others_there:
                make_stock(kit, borrower, pieces=others_there)
            said = self.decided(lent)
            lent.refresh_from_db()
            backs = list(Transfer.objects.filter(sends_back=lent))
            kept = lent.borrowed == Borrowed.KEEP
            assert len(backs) == (0 if kept else 1)
            assert all(REFUSED_BORROWED.match(sentence) for sentence in said), said
        assert audit() == []

    def decided(self, lent):
        """What those were told who came too late: half of all would keep it, half send it back."""
        refused: list[str] = []

        def work(number):
            try:
                if number % 2:
                    send_back(lent, by=None, key=f"{lent.key}-back-{number}")
                else:
                    keep_borrowed(lent)
            except ValidationError as refusal:
                refused.append(refusal.messages[0])

        assert together(work) == []
        return refused


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
