"""The owner's page over 200,000 jobs, against one second; the bare rows it sums beside it.

Three years of a chain of eight sites: jobs, their lines, issues and movements written in bulk, for
reading alone. The page is asked for the last thirty days, as it opens.
"""

import time
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from typing import Any

import numpy as np

from tests.bench.row import Row, seconds

JOBS, DAYS, SITES, PARTS, TECHNICIANS, BATCH = 200_000, 1095, 8, 400, 24, 5_000
LAST_DAY = date(2026, 11, 20)
COMEBACK_EVERY, RETURN_EVERY = 60, 40


def rows() -> Iterator[Row]:
    yield measured()


def measured() -> Row:
    from django.core.management import call_command
    from django.db import connection
    from django.test import Client
    from django.test.utils import CaptureQueriesContext

    from shopparts.models import User

    make_chain()
    call_command("collectstatic", interactive=False, verbosity=0)
    client = Client(headers={"host": "localhost"})
    client.force_login(User.objects.get(username="owner"))
    path = f"/money/?last={LAST_DAY}"
    assert client.get(path).status_code == 200
    with CaptureQueriesContext(connection) as asked:
        page = client.get(path).content.decode()
    # Counted now: the next request empties the log.
    queries = len(asked)
    ours, bare = seconds(lambda: client.get(path)), seconds(bare_query)
    began = time.process_time()
    client.get(path)
    computing = time.process_time() - began
    return Row(
        work=f"owner's page over {JOBS:,} jobs, {connection.vendor}",
        against="one second",
        ratio=ours,
        goal=1.0,
        words=f"{queries} queries; {page[page.index('<h1>') + 4 : page.index('</h1>')]}; "
        f"{computing:.2f} s of it computing; the bare rows alone {bare:.2f} s.",
    )


def bare_query() -> int:
    from jobs.workshop.models import JobLine

    first = LAST_DAY - timedelta(days=59)
    rows = JobLine.objects.filter(job__closed_on__range=(first, LAST_DAY)).values_list(
        "job", "job__key", "part__maker", "posting", "quantity", "price_cents"
    )
    return len(list(rows))


def make_chain() -> None:
    from django.db import connection, transaction

    rng = np.random.default_rng(5)
    with transaction.atomic():
        shop = records()
        for start in range(0, JOBS, BATCH):
            write_batch(range(start, min(start + BATCH, JOBS)), shop, rng)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")


def records() -> dict[str, Any]:
    """Sites, people, parts with a lot each, vehicles and accounts."""
    from inventory.catalog.models import Application, Part
    from inventory.ledger.models import Lot, Shelf
    from inventory.shop.models import Site
    from jobs.workshop.models import Account, Vehicle
    from shopparts.models import User

    sites = Site.objects.bulk_create(Site(code=f"C{n}", name=f"Site {n}") for n in range(SITES))
    User.objects.create_user("owner", role="owner", home_site=sites[0])
    people = User.objects.bulk_create(User(username=f"t{n}") for n in range(TECHNICIANS))
    parts = Part.objects.bulk_create(
        Part(number=f"P-{n}", number_key=f"p{n}", kind=("kit", "body", "stem", "assembly")[n % 4],
             maker=f"Maker {n % 9}", band_433=True) for n in range(PARTS)
    )  # fmt: skip
    shelves = Shelf.objects.bulk_create(
        Shelf(part=part, site=site, on_hand=10**6, usable=10**6) for part in parts for site in sites
    )
    lots = Lot.objects.bulk_create(
        Lot(key=f"L-{n}", shelf=shelf, received_on=date(2023, 1, 1), pieces_received=10**7,
            cents_received=10**9, pieces_left=10**6, cents_left=10**8)
        for n, shelf in enumerate(shelves)
    )  # fmt: skip
    cars = Application.objects.bulk_create(
        Application(key=f"a{n}", make=f"Make {n % 12}", model=f"Model {n}", year_from=2012,
                    year_to=2020) for n in range(60)
    )  # fmt: skip
    vehicles = Vehicle.objects.bulk_create(
        Vehicle(key=f"V{n}", plate=f"QX {n}", plate_key=f"qx{n}", application=cars[n % len(cars)])
        for n in range(20_000)
    )
    accounts = Account.objects.bulk_create(Account(name=f"Fleet {n}") for n in range(30))
    return {"sites": sites, "people": people, "parts": parts, "vehicles": vehicles,
            "accounts": accounts, "lots": lots}  # fmt: skip


def write_batch(numbers: range, shop: dict[str, Any], rng: Any) -> None:
    """Jobs with two part lines and one of labour each; every issue with its movement."""
    from inventory.ledger.models import Movement, Posting
    from jobs.workshop.models import Job, JobLine

    jobs = Job.objects.bulk_create(job_of(n, shop, rng) for n in numbers)
    comebacks = [job for job in jobs if job.cause]
    for job in comebacks:
        job.comeback_of = jobs[max(0, jobs.index(job) - 50)]
    Job.objects.bulk_update(comebacks, ["comeback_of"])
    sold = [(job, number) for job in jobs for number in (0, 1)]
    postings = Posting.objects.bulk_create(
        Posting(key=f"i{job.key}-{number}", kind="issued", occasion=job.key,
                happened_at=job.closed_at or job.opened_at) for job, number in sold
    )  # fmt: skip
    chosen = rng.integers(0, PARTS, len(sold))
    pieces = rng.integers(1, 5, len(sold))
    issued = []
    lines = [JobLine(job=job, kind="labour", action="body", words="Tire off and on", quantity=20,
                     price_cents=3000, labour_cost_cents=1500) for job in jobs]  # fmt: skip
    for (job, number), posting, part, count in zip(sold, postings, chosen, pieces, strict=True):
        lot = shop["lots"][int(part) * SITES + shop["sites"].index(job.site)]
        issued.append(
            Movement(posting=posting, number=1, lot=lot, part=shop["parts"][part], site=job.site,
                     pieces=-int(count), cents=-900 * int(count))
        )  # fmt: skip
        lines.append(
            JobLine(job=job, kind="part", action=("body", "reseal")[number], posting=posting,
                    part=shop["parts"][part], quantity=int(count), price_cents=2100 * int(count))
        )  # fmt: skip
    Movement.objects.bulk_create(issued)
    JobLine.objects.bulk_create(lines)
    write_returns(issued[::RETURN_EVERY])


def write_returns(issued: list[Any]) -> None:
    from inventory.ledger.models import Movement, Posting

    postings = Posting.objects.bulk_create(
        Posting(key=f"r{out.posting.key}", kind="returned", happened_at=out.posting.happened_at)
        for out in issued
    )
    Movement.objects.bulk_create(
        Movement(posting=posting, number=1, lot=out.lot, part=out.part, site=out.site, pieces=1,
                 cents=900, of=out) for posting, out in zip(postings, issued, strict=True)
    )  # fmt: skip


def job_of(number: int, shop: dict[str, Any], rng: Any) -> Any:
    from jobs.workshop.models import Job

    day = LAST_DAY - timedelta(days=DAYS - 1 - number * DAYS // JOBS)
    at = datetime(day.year, day.month, day.day, 15, tzinfo=UTC)
    pick = rng.integers(0, 10**6, 4)
    return Job(
        key=f"J{number}",
        site=shop["sites"][pick[0] % SITES],
        vehicle=shop["vehicles"][pick[1] % len(shop["vehicles"])],
        kind="sensor",
        opened_at=at - timedelta(hours=2),
        closed_at=at,
        closed_on=day,
        technician=shop["people"][pick[2] % TECHNICIANS],
        account=shop["accounts"][pick[3] % 30] if pick[3] % 5 == 0 else None,
        cause="part_failed" if number % COMEBACK_EVERY == COMEBACK_EVERY - 1 else "",
    )
