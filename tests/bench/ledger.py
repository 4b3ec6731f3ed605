"""Eight people issuing at once, against the bare conditional UPDATE and INSERT of the same rows.

The PostgreSQL server of a run writes without waiting for the disk, so that our own work shows most.
"""

import threading
import time
from collections.abc import Callable, Iterator
from typing import Any

from tests.bench.row import Row

WRITERS, ISSUES, PARTS, TURNS = 8, 100, 20, 3


def rows() -> Iterator[Row]:
    yield measured()


def measured() -> Row:
    """Each way in turn, a few times; the best rate of each counts, the rest was disturbed."""
    from django.db import connection

    from inventory.ledger.audit import audit
    from inventory.ledger.models import Posting, PostingKind, Shelf

    shelves = stocked()
    best = {"bare": 0.0, "ours": 0.0}
    for turn in range(TURNS):
        for name, work in (("bare", bare_writer(shelves, turn)), ("ours", issuer(shelves, turn))):
            best[name] = max(best[name], rate(work))
    wanted, issued = WRITERS * ISSUES * TURNS, Posting.objects.filter(kind=PostingKind.ISSUED)
    lost = wanted - issued.count()
    below = Shelf.objects.filter(on_hand__lt=0).count()
    # The bare writer leaves shelves that no movement explains; only its own may be at fault.
    ours = {str(shelf) for shelf in Shelf.objects.filter(pk__in=[s.pk for s in shelves[0]])}
    faults = [fault for fault in audit() if fault.record.removeprefix("Shelf ") in ours]
    return Row(
        work=f"posting issues, {WRITERS} writers, {connection.vendor}",
        against="the rate of the bare conditional UPDATE + INSERT",
        ratio=best["ours"] / best["bare"],
        goal=0.3,
        at_least=True,
        words=f"{best['ours']:.0f} against {best['bare']:.0f} a second; "
        f"{lost} lost, {below} below zero, {len(faults)} faults.",
    )


def stocked() -> tuple[list[Any], list[Any]]:
    """Shelves to issue from, and others, alike, for the bare writer."""
    from inventory.catalog.models import Part
    from inventory.ledger.actions import receive_stock
    from inventory.ledger.models import Shelf
    from inventory.shop.models import Site

    made = []
    for code in ("OURS", "BARE"):
        site = Site.objects.create(code=f"{code}{time.time_ns() % 10**6}", name=code)
        for number in range(PARTS):
            part = Part.objects.create(number=f"{code} {number}", number_key=f"{site.pk}x{number}",
                                       kind="kit")  # fmt: skip
            for lot in range(3):
                receive_stock(
                    part, site=site, pieces=WRITERS * ISSUES * TURNS, value_cents=99_999, by=None,
                    key=f"{site.pk}-{number}-{lot}",
                )  # fmt: skip
        made.append(list(Shelf.objects.filter(site=site).select_related("part", "site")))
    return made[0], made[1]


def issuer(shelves: tuple[list[Any], list[Any]], turn: int) -> Callable[[int], None]:
    from inventory.ledger.actions import issue_stock

    def work(writer: int) -> None:
        for number in range(ISSUES):
            shelf = shelves[0][(writer * 7 + number) % PARTS]
            key = f"{shelf.site_id}-{turn}-{writer}-{number}"
            issue_stock(shelf.part, site=shelf.site, pieces=1, by=None, key=key)

    return work


def bare_writer(shelves: tuple[list[Any], list[Any]], turn: int) -> Callable[[int], None]:
    from django.db import transaction
    from django.db.models import F

    from inventory.ledger.models import Movement, Shelf

    ready = {shelf.pk: shelf.lots.first().movements.first() for shelf in shelves[1]}

    def work(writer: int) -> None:
        for number in range(ISSUES):
            shelf = shelves[1][(writer * 7 + number) % PARTS]
            received = ready[shelf.pk]
            with transaction.atomic():
                enough = Shelf.objects.filter(pk=shelf.pk, usable__gte=F("held") + 1)
                if enough.update(on_hand=F("on_hand") - 1, usable=F("usable") - 1):
                    Movement.objects.create(
                        posting_id=received.posting_id,
                        number=2 + (turn * WRITERS + writer) * ISSUES + number,
                        lot_id=received.lot_id,
                        part_id=shelf.part_id,
                        site_id=shelf.site_id,
                        pieces=-1,
                        cents=-1,
                    )

    return work


def rate(work: Callable[[int], None]) -> float:
    from django.db import connection

    start = threading.Barrier(WRITERS + 1)

    def run(writer: int) -> None:
        connection.ensure_connection()
        start.wait()
        work(writer)
        connection.close()

    threads = [threading.Thread(target=run, args=[writer]) for writer in range(WRITERS)]
    for thread in threads:
        thread.start()
    start.wait()
    began = time.perf_counter()
    for thread in threads:
        thread.join()
    return WRITERS * ISSUES / (time.perf_counter() - began)
