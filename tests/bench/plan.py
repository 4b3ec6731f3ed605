"""A whole plan, from the ledger's asks to the lines written, against what any plan must do there.

The yardstick reads the same asks grouped by part, site and week, and upserts as many plan lines,
which it was handed ready-made.
"""

import time
from collections.abc import Iterator
from datetime import date
from itertools import islice
from typing import TYPE_CHECKING

import numpy as np

from tests.bench.expected import UndoError
from tests.bench.row import Row, peak_mb, seconds

if TYPE_CHECKING:
    from inventory.reorder.models import PlanLine

LARGE = 100_000
SIZES = (10_000, LARGE)
WEEKS = 156
AS_OF = date(2026, 3, 4)
NOON = "2026-03-04 12:00:00+00:00"
AT_A_TIME = 5_000
BY_WEEK = {
    "sqlite": "CAST(julianday(day) / 7 AS INTEGER)",
    "postgresql": "(day - DATE '2000-01-03') / 7",
}


def stocked(part_sites: int) -> int:
    """Parts at one site with three years of asks, an offer and a shelf each; how many asks."""
    from inventory.catalog.models import Part
    from inventory.ledger.models import Shelf
    from inventory.reorder.models import Offer, Supplier
    from inventory.shop.models import Site

    rng = np.random.default_rng(11)
    site = Site.objects.create(code="BENCH", name="Bench", asks_logged_from=date(2020, 1, 1))
    suppliers = Supplier.objects.bulk_create(
        Supplier(code=f"BENCH{n}", name=f"Bench {n}", stated_lead_days=2 + n % 5) for n in range(40)
    )
    kinds = ("kit", "stem", "seal", "core", "cap", "plain_valve", "other")
    parts = Part.objects.bulk_create(
        (
            Part(number=f"B {n}", number_key=f"BENCH{n}", kind=kinds[n % len(kinds)])
            for n in range(part_sites)
        ),
        batch_size=AT_A_TIME,
    )
    Shelf.objects.bulk_create((Shelf(part=part, site=site) for part in parts), batch_size=AT_A_TIME)
    Offer.objects.bulk_create(
        (
            Offer(
                supplier=suppliers[n % 40],
                part=part,
                pack_price_cents=200 + 53 * n % 6_000,
                valid_from=date(2020, 1, 1),
            )
            for n, part in enumerate(parts)
        ),
        batch_size=AT_A_TIME,
    )
    counts = rng.poisson(rng.gamma(0.4, 0.5, part_sites) * WEEKS)
    part = np.repeat([part.pk for part in parts], counts)
    # An ask's number among those of its part, for its key.
    number = np.arange(len(part)) - np.repeat(counts.cumsum() - counts, counts)
    days = AS_OF.toordinal() - rng.integers(0, 7 * WEEKS, len(part))
    pieces = rng.choice([1, 2, 4], len(part), p=[0.7, 0.1, 0.2])
    columns = (column.tolist() for column in (part, number, days, pieces))
    told = {day: date.fromordinal(day).isoformat() for day in np.unique(days).tolist()}
    write_asks(
        (f"bench-{pk}-{n}", pk, site.pk, size, "", NOON, told[day], False)
        for pk, n, day, size in zip(*columns, strict=True)
    )
    return len(part)


def write_asks(asks: Iterator[tuple[str | int | bool, ...]]) -> None:
    """Plain rows: to make three million model objects takes longer than all that is measured."""
    from django.db import connection

    names = "key, part_id, site_id, pieces, job_key, at, day, wish"
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            with cursor.copy(f"COPY inventory_ask ({names}) FROM STDIN") as copy:
                for ask in asks:
                    copy.write_row(ask)
            cursor.execute("ANALYZE inventory_ask")
        else:
            marks = ", ".join(["%s"] * len(names.split(", ")))
            while some := list(islice(asks, 10 * AT_A_TIME)):
                cursor.executemany(f"INSERT INTO inventory_ask ({names}) VALUES ({marks})", some)


def grouped_select() -> None:
    from django.db import connection

    week = BY_WEEK[connection.vendor]
    with connection.cursor() as cursor:
        cursor.execute(
            f"SELECT part_id, site_id, {week} AS week, COUNT(*), SUM(pieces) "
            f"FROM inventory_ask GROUP BY part_id, site_id, {week}"
        )
        cursor.fetchall()


def measured(part_sites: int) -> tuple[Row, float]:
    """With so many part-sites, on the database of the run: the row, and seconds of computing.

    All of it is undone. What waits for the machine or the database is no computing.
    """
    from django.db import connection, transaction

    from inventory.reorder.actions.plan import run_plan
    from inventory.reorder.models import PlanLine, PlanRun

    # The smaller one is over so soon that what else the machine does shows.
    repeat = 2 if part_sites < LARGE else 1
    try:
        with transaction.atomic():
            asks = stocked(part_sites)
            began = time.process_time()
            ours = seconds(lambda: run_plan(as_of=AS_OF, by=None), repeat=repeat)
            computing, peak = (time.process_time() - began) / repeat, peak_mb()
            lines = list(PlanLine.objects.filter(run=PlanRun.objects.finished()[0]))
            reading = seconds(grouped_select, repeat=repeat)
            writing = seconds(lambda: upsert(lines), repeat=repeat)
            raise UndoError
    except UndoError:
        pass
    row = Row(
        work=f"planning {part_sites:,} part-sites from {asks:,} asks of the ledger, lines written, "
        f"{connection.vendor}",
        against="the grouped SELECT and a bare bulk upsert",
        ratio=ours / (reading + writing),
        goal=4.0,
        words=f"ours {ours:.2f} s, {computing:.2f} s of it computing; "
        f"SELECT {reading:.2f} s, upsert {writing:.2f} s; peak {peak:.0f} MB.",
    )
    return row, computing


def upsert(lines: "list[PlanLine]") -> None:
    from inventory.reorder.models import PlanLine

    columns = [f.name for f in PlanLine._meta.concrete_fields if not f.primary_key]
    unique = ["run", "part", "site"]
    PlanLine.objects.bulk_create(
        lines,
        batch_size=2_000,
        update_conflicts=True,
        unique_fields=unique,
        update_fields=[name for name in columns if name not in unique],
    )


def rows() -> Iterator[Row]:
    """Both sizes, and whether what it takes grows as the part-sites do."""
    few, many = SIZES
    row, shorter = measured(few)
    yield row
    row, longer = measured(many)
    yield row
    yield Row(
        work=f"computing a plan of {many:,} part-sites",
        against=f"{many // few} times that of {few:,}",
        ratio=longer / shorter / (many / few),
        goal=1.2,
        words=f"{longer:.2f} s and {shorter:.2f} s.",
    )
