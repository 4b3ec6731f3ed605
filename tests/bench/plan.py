"""A whole plan, from the ledger's asks to the lines written, against what any plan must do there.

The yardstick reads the same asks grouped by part, site and week, and upserts as many plan lines,
which it was handed ready-made.
"""

import os
from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta

import numpy as np

from tests.bench.expected import UndoError
from tests.bench.row import Row, peak_mb, seconds

PART_SITES = int(os.environ.get("PLANNER_BENCH_PART_SITES", "10000"))
WEEKS = 156
AS_OF = date(2026, 3, 4)
AT_A_TIME = 5_000
BY_WEEK = {
    "sqlite": "CAST(julianday(day) / 7 AS INTEGER)",
    "postgresql": "(day - DATE '2000-01-03') / 7",
}


def stocked(part_sites: int) -> int:
    """Parts at one site with three years of asks, an offer and a shelf each; how many asks."""
    from inventory.catalog.models import Part
    from inventory.ledger.models import Ask, Shelf
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
    first = AS_OF - timedelta(weeks=WEEKS) + timedelta(days=1)
    noon = datetime.combine(AS_OF, time(12), tzinfo=UTC)

    def asks() -> Iterator[Ask]:
        for part, count in zip(parts, counts.tolist(), strict=True):
            days = rng.integers(0, 7 * WEEKS, count).tolist()
            sizes = rng.choice([1, 2, 4], count, p=[0.7, 0.1, 0.2]).tolist()
            for number, (day, size) in enumerate(zip(days, sizes, strict=True)):
                yield Ask(
                    key=f"bench-{part.pk}-{number}",
                    part=part,
                    site=site,
                    pieces=size,
                    day=first + timedelta(days=day),
                    at=noon,
                )

    Ask.objects.bulk_create(asks(), batch_size=AT_A_TIME)
    return int(counts.sum())


def grouped_select() -> None:
    from django.db import connection

    week = BY_WEEK[connection.vendor]
    with connection.cursor() as cursor:
        cursor.execute(
            f"SELECT part_id, site_id, {week} AS week, COUNT(*), SUM(pieces) "
            f"FROM inventory_ask GROUP BY part_id, site_id, {week}"
        )
        cursor.fetchall()


def rows() -> Iterator[Row]:
    from django.db import transaction

    from inventory.reorder.actions.plan import run_plan
    from inventory.reorder.models import PlanLine, PlanRun

    try:
        with transaction.atomic():
            asks = stocked(PART_SITES)
            run_plan(as_of=AS_OF, by=None)
            ours = seconds(lambda: run_plan(as_of=AS_OF, by=None), repeat=2)
            peak = peak_mb()
            lines = list(PlanLine.objects.filter(run=PlanRun.objects.finished()[0]))
            columns = [f.name for f in PlanLine._meta.concrete_fields if not f.primary_key]
            unique = ["run", "part", "site"]

            def upsert() -> None:
                PlanLine.objects.bulk_create(
                    lines,
                    batch_size=2_000,
                    update_conflicts=True,
                    unique_fields=unique,
                    update_fields=[name for name in columns if name not in unique],
                )

            reading, writing = seconds(grouped_select, repeat=2), seconds(upsert, repeat=2)
            raise UndoError
    except UndoError:
        pass
    yield Row(
        work=f"planning {PART_SITES:,} part-sites from {asks:,} asks of the ledger, lines written",
        against="the grouped SELECT and a bare bulk upsert",
        ratio=ours / (reading + writing),
        goal=4.0,
        words=f"ours {ours:.2f} s; SELECT {reading:.2f} s, upsert {writing:.2f} s; "
        f"peak {peak:.0f} MB.",
    )
