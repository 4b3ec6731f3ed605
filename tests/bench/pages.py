"""Every page on the demo shop and on ten times the demo: its queries, and how long it takes.

Queries must not grow with the rows; how long a page takes is told beside them and not judged.
"""

import time
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Any

from django.core.management import call_command
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from inventory.catalog.models import Application, Evidence, Fitment
from inventory.ledger.actions import start_count
from inventory.ledger.models import Posting
from inventory.reorder.models import (
    Claim,
    Delivery,
    DeliveryLine,
    Offer,
    Order,
    PlanLine,
    PriceList,
)
from inventory.shop.models import Bin, Site
from jobs.workshop.models import Job
from shopparts.models import Run, User
from tests.addresses import own_addresses
from tests.bench.row import Row
from tests.bench.tenfold import TIMES, make_tenfold
from tests.one_of_each import path_of
from tests.test_access import FOR, SIGNED_OUT
from tests.test_names import methods

SLOWEST = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    queries: int
    seconds: float
    computing: float
    """Seconds of the processor, which others who use it do not stretch."""


def paths() -> dict[str, str]:
    """The address of every page that a person opens, by its name, with a record of the demo."""
    shop = records()
    return {
        address.name: path_of(address, shop)
        for address in own_addresses()
        if "GET" in methods(address) and FOR[address.name] != SIGNED_OUT
    }


def records() -> dict[str, Any]:
    """Keys by the noun that an address begins with, or by the name of its argument."""
    site = Site.objects.selling()[0]
    asked = PlanLine.objects.filter(site=site).exclude(suggested_packs=0).order_by("pk")[0]
    offer = Offer.objects.filter(part=asked.part).order_by("pk")[0]
    job = Job.objects.in_hand().order_by("pk")[0]
    listed = PriceList.objects.create(
        key="pages", supplier=offer.supplier, heads=["Part", "Price"], valid_from=site.today(),
        rows=[["A", "1.00"]], columns={"part": "Part", "price": "Price"},
    )  # fmt: skip
    first = {
        "fit": Application, "applications": Application, "fitments": Fitment,
        "evidence": Evidence, "postings": Posting, "orders": Order, "claims": Claim,
        "deliveries": Delivery, "delivery-lines": DeliveryLine, "team": User,
        "sites": Site, "bins": Bin,
    }  # fmt: skip
    return {noun: model._default_manager.order_by("pk")[0].pk for noun, model in first.items()} | {
        "plan": asked.pk,
        "parts": asked.part_id,
        "lots": asked.part_id,
        "suppliers": offer.supplier_id,
        "price-lists": listed.pk,
        "jobs": job.pk,
        "vehicles": job.vehicle_id,
        "sites": site.pk,
        "bins": site.bins.order_by("pk")[0].pk,
        "counts": start_count(site, title="All", bins=site.bins.all(), by=None, key="pages").pk,
        "runs": Run.objects.create(key="pages", kind="plan").pk,
    }


def load(client: Client, path: str) -> Load | None:
    """The second request, when what is kept between requests is there; None where nothing is."""
    answer = client.get(path)
    if answer.status_code == 404:
        return None
    if answer.status_code not in {200, 302}:
        raise AssertionError(f"{path} answered {answer.status_code}")
    with CaptureQueriesContext(connection) as asked:
        start, worked = time.perf_counter(), time.process_time()
        client.get(path)
        return Load(
            seconds=round(time.perf_counter() - start, 3),
            computing=round(time.process_time() - worked, 3),
            queries=len(asked),
        )


def loads(client: Client, found: dict[str, str]) -> dict[str, Load]:
    tried = {name: load(client, path) for name, path in found.items()}
    return {name: told for name, told in tried.items() if told}


def rows() -> Iterator[Row]:
    call_command("demo_shop", verbosity=0)
    call_command("collectstatic", interactive=False, verbosity=0)
    client = Client(headers={"host": "localhost"})
    client.force_login(User.objects.get(username="ruth"))
    found = paths()
    once = loads(client, found)
    make_tenfold()
    yield row(once, loads(client, found), not_there=sorted(set(found) - set(once)))


def row(once: dict[str, Load], tenfold: dict[str, Load], *, not_there: list[str]) -> Row:
    grown = {
        name: tenfold[name].queries - load.queries
        for name, load in once.items()
        if tenfold[name].queries > load.queries
    }
    slowest = sorted(tenfold, key=lambda name: -tenfold[name].computing)[:SLOWEST]
    growing = ", ".join(f"{name} by {more}" for name, more in grown.items()) or "none"
    slow = ", ".join(f"{name} {tenfold[name].computing:.2f} s" for name in slowest)
    return Row(
        work=f"queries of {len(once)} pages on {TIMES} times the demo shop, the worst of them",
        against="its queries on the demo shop",
        ratio=max(tenfold[name].queries / max(load.queries, 1) for name, load in once.items()),
        goal=1.0,
        words=f"growing: {growing}; slowest there, of the processor: {slow}; "
        f"no record to open: {', '.join(not_there) or 'none'}.",
        table=tuple(
            {"page": name, "demo": asdict(load), "tenfold": asdict(tenfold[name])}
            for name, load in once.items()
        ),
    )
