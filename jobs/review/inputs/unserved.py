"""What was wanted and not sold from the shelf: lost, waited for, bought in, fetched, declined.

A part that was not there and a price that was too high are two different leaks: the first is told
by the asks of the ledger, the second by what customers declined.
"""

from collections import Counter
from collections.abc import Iterable
from datetime import date
from typing import NamedTuple

from django.db.models import Sum

from inventory.catalog.models import Part
from inventory.catalog.prices import customer_prices
from inventory.ledger.models import AskOutcome, How, Lot, Movement
from inventory.reorder.inputs.money import DELAY_HOURS
from inventory.shop.models import ShopSettings, Site
from jobs.costing.cents import net_of_tax
from jobs.workshop.models import Declined, Job, WheelAction

# Asks that took somebody's time: to fetch the part, to buy it in, to book the vehicle again.
TOOK_TIME = frozenset({How.WAITED, How.BOUGHT_IN, How.MOVED_HERE})
NOT_FROM_HERE = (How.LOST, *TOOK_TIME)
FOR_PRICE, OTHERWISE = "price", "otherwise"
WORDS = {
    How.LOST: "Lost for want of a part",
    How.WAITED: "Waited for a part",
    How.BOUGHT_IN: "Bought in",
    How.MOVED_HERE: "Fetched from another site",
    FOR_PRICE: "Declined for the price",
    OTHERWISE: "Declined for another reason",
}


class Unserved(NamedTuple):
    """One ask or one thing declined. `worth_cents` is what the customer would have paid.

    cost_cents : margin forgone, premium paid or time spent; None where that is not known
    job_pk : of the job, where the ask was for one that is here
    """

    how: str
    day: date
    part: int | None
    what: str
    job: str
    pieces: int
    worth_cents: int | None
    cost_cents: int | None
    job_pk: int | None = None


def unserved(*, first: date, last: date, site: Site | None, shop: ShopSettings) -> list[Unserved]:
    """On the site's days from first to last, in a constant number of queries."""
    rows = [*_asked(first, last, site, shop), *_declined(first, last, site)]
    known = Job.objects.filter(key__in={row.job for row in rows}).order_by()
    jobs = dict(known.values_list("key", "pk"))
    return [row._replace(job_pk=jobs.get(row.job)) for row in rows]


def _asked(first: date, last: date, site: Site | None, shop: ShopSettings) -> Iterable[Unserved]:
    rows = AskOutcome.objects.filter(how__in=NOT_FROM_HERE, ask__day__range=(first, last))
    if site is not None:
        rows = rows.filter(ask__site=site)
    outcomes = list(
        rows.order_by("ask__day", "pk").values_list(
            *("how", "ask__day", "ask__part", "ask__part__number", "ask__job_key"),
            *("pieces", "posting"),
        )
    )
    parts = {part.pk: part for part in Part.objects.filter(pk__in={row[2] for row in outcomes})}
    price_of = customer_prices(parts.values(), on=last)
    paid = _paid([row[6] for row in outcomes if row[0] == How.BOUGHT_IN and row[6]])
    usual = usual_costs(parts, without=paid)
    hour = round(DELAY_HOURS * shop.labour_cost_cents)
    for how, day, part, number, job, pieces, posting in outcomes:
        price, cost = price_of[part], usual.get(part)
        worth = None if price is None else price * pieces
        if how == How.LOST:
            lost = _lost(worth, cost, pieces, shop.tax_in_prices_per_mille)
        else:
            lost = hour * (1 if pieces > 0 else -1) + _premium(paid.get(posting), pieces, cost)
        yield Unserved(how, day, part, number, job, pieces, worth, lost)


def _paid(postings: list[int]) -> dict[int, int]:
    """Cents that these issues took from the shelf."""
    moved = Movement.objects.filter(posting__in=postings).order_by().values_list("posting")
    return {posting: -cents for posting, cents in moved.annotate(cents=Sum("cents"))}


def _lost(worth: int | None, cost: float | None, pieces: int, tax: int) -> int | None:
    """The margin that was not earned, on the price without tax."""
    if worth is None or cost is None:
        return None
    return net_of_tax(worth, tax) - round(cost * pieces)


def _premium(paid: int | None, pieces: int, usual: float | None) -> int:
    """What buying in cost above the usual; nothing where either is not known."""
    return 0 if paid is None or usual is None else round(paid - usual * pieces)


def usual_costs(parts: Iterable[int], *, without: Iterable[int] = ()) -> dict[int, float]:
    """Mean cents a piece of what was ever received of each part, but for some postings' lots."""
    bought = Lot.objects.filter(
        shelf__part__in=list(parts), from_lot=None, cents_received__gt=0, pieces_received__gt=0
    ).exclude(pk__in=Movement.objects.filter(posting__in=list(without)).values("lot"))
    rows = bought.order_by().values_list("shelf__part")
    sums = rows.annotate(cents=Sum("cents_received"), pieces=Sum("pieces_received"))
    return {part: cents / pieces for part, cents, pieces in sums}


def _declined(first: date, last: date, site: Site | None) -> Iterable[Unserved]:
    rows = Declined.objects.filter(job__closed_on__range=(first, last))
    if site is not None:
        rows = rows.filter(job__site=site)
    named = rows.order_by("job__closed_on", "pk").values_list(
        *("for_price", "job__closed_on", "part", "part__number", "action", "job__key"),
        "price_cents",
    )
    for for_price, day, part, number, action, job, price in named:
        what = number or WheelAction(action).label
        yield Unserved(FOR_PRICE if for_price else OTHERWISE, day, part, what, job, 1, price, None)


class UnservedSum(NamedTuple):
    how: str
    times: int
    pieces: int
    worth_cents: int | None
    cost_cents: int | None

    @property
    def words(self) -> str:
        return WORDS[self.how]


def summed(rows: Iterable[Unserved]) -> list[UnservedSum]:
    """By what became of it; an amount is blank where none of its rows has one."""
    listed = list(rows)
    times, pieces = Counter[str](), Counter[str]()
    worth: dict[str, int] = {}
    cost: dict[str, int] = {}
    for row in listed:
        times[row.how] += 1 if row.pieces > 0 else -1
        pieces[row.how] += row.pieces
        if row.worth_cents is not None:
            worth[row.how] = worth.get(row.how, 0) + row.worth_cents
        if row.cost_cents is not None:
            cost[row.how] = cost.get(row.how, 0) + row.cost_cents
    return [
        UnservedSum(how, times[how], pieces[how], worth.get(how), cost.get(how)) for how in WORDS
    ]
