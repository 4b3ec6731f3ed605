"""The tables of the money pages: sortable there, and the same figures in a workbook."""

from collections.abc import Iterable
from typing import Any

from django.urls import reverse

from jobs.costing.rates import Rate
from jobs.review.columns import (
    NUMBER,
    AmountColumn,
    CountColumn,
    DayColumn,
    LinkedColumn,
    MoneyTable,
    PlainColumn,
    RateColumn,
    RatioColumn,
    ShareColumn,
    WholeColumn,
)

NO_JOB = "No job was closed on these days. Choose more days above."


def _group(record: Any, table: MoneyTable) -> str:
    return table.address("jobs:money_jobs", **{"is": record.key})


def _kind(record: Any, table: MoneyTable) -> str:
    """All kinds together are no group of their own."""
    found = table.address("jobs:money_jobs", by="kind", **{"is": record.key})
    return found if record.key else ""


def _work(record: Any, table: MoneyTable) -> str:
    return table.address("jobs:money_jobs", by="work", **{"is": record.work})


def _cause(record: Any, table: MoneyTable) -> str:
    return table.address("jobs:money_jobs", by="visit", **{"is": record.cause})


def _account_jobs(record: Any, table: MoneyTable) -> str:
    return table.address("jobs:money_jobs", by="account", **{"is": record.account})


def _account(record: Any, table: MoneyTable) -> str:
    return table.address("jobs:money_accounts", account=record.account) + "#due"


def _unserved(record: Any, table: MoneyTable) -> str:
    return table.address("jobs:money_shelf", how=record.how) + "#rows"


def _margin(record: Any, table: MoneyTable) -> str:
    return reverse("jobs:job_margin", args=[record.one.job.pk])


def _job(record: Any, table: MoneyTable) -> str:
    return reverse("jobs:job_detail", args=[record.job_pk]) if record.job_pk else ""


def _vehicle(record: Any, table: MoneyTable) -> str:
    return reverse("jobs:vehicle_detail", args=[record.vehicle])


def _shelf(record: Any, table: MoneyTable) -> str:
    return reverse("inventory:part_shelf", args=[record.part]) if record.part else ""


def _line_part(record: Any, table: MoneyTable) -> str:
    return reverse("inventory:part_detail", args=[record.line.part]) if record.line.part else ""


def _part(record: Any, table: MoneyTable) -> str:
    return reverse("inventory:part_detail", args=[record.part])


class NamedTable(MoneyTable):
    """The words above its first column are those of the grouping."""

    def __init__(self, rows: Iterable[Any], *, words: str, **options: Any) -> None:
        super().__init__(rows, **options)
        self.columns["name"].column.verbose_name = words


class GroupTable(NamedTable):
    """Groups of jobs; each name opens its jobs."""

    title = "Figures by group"

    name = LinkedColumn("", to=_group)
    jobs = CountColumn("Jobs")
    margin = AmountColumn("Margin", accessor="margin_cents")
    share = ShareColumn("Share")
    price = AmountColumn("Charged", accessor="own__price_cents")
    cost = AmountColumn("Cost", accessor="own__cost_cents")
    comebacks = AmountColumn("Comebacks", accessor="comebacks_cents")
    a_job = AmountColumn("A job", accessor="a_job_cents")
    came_back = RateColumn("Came back", accessor="came_back")

    class Meta:
        empty_text = NO_JOB


class JobTable(MoneyTable):
    """Jobs, or what of each belongs to a group; each opens its lines."""

    title = "Jobs"

    job = LinkedColumn("Job", to=_margin, accessor="one__job__key")
    margin = AmountColumn("Margin", accessor="margin_cents")
    closed_on = DayColumn("Closed", accessor="one__job__closed_on")
    vehicle = PlainColumn("Vehicle", accessor="one__job__vehicle")
    work = PlainColumn("Work done", accessor="one__work")
    price = AmountColumn("Charged", accessor="own__price_cents")
    cost = AmountColumn("Cost", accessor="own__cost_cents")
    comebacks = AmountColumn("Comebacks", accessor="comebacks_cents")

    class Meta:
        empty_text = NO_JOB


class LineTable(MoneyTable):
    """The lines of one job."""

    title = "Lines of the job"

    words = PlainColumn("Line", accessor="line__words")
    number = LinkedColumn("Part", to=_line_part, accessor="line__number")
    payer = PlainColumn("Paid by", accessor="line__payer_words")
    price = AmountColumn("Charged", accessor="margin__price_cents")
    parts = AmountColumn("Parts", accessor="margin__parts_cents")
    labour = AmountColumn("Labour", accessor="margin__labour_cents")
    margin = AmountColumn("Margin", accessor="margin__margin_cents")

    class Meta:
        empty_text = "Nothing was sold on this job."


class BridgeTable(MoneyTable):
    """The bars of the bridge."""

    title = "What moved the margin"

    label = PlainColumn("Step")
    cents = AmountColumn("Moved")


class LeftTable(MoneyTable):
    """What the jobs left, and what came off it."""

    title = "What is left"

    label = PlainColumn("From")
    cents = AmountColumn("Amount")


class MovedTable(MoneyTable):
    """One bar of the bridge: how much of it each kind of work moved."""

    title = "What moved"

    work = LinkedColumn("Work done", to=_work)
    moved = AmountColumn("Moved", accessor="cents")
    jobs_before = CountColumn("Jobs before", accessor="before__count")
    jobs_after = CountColumn("Jobs now", accessor="after__count")
    price_before = AmountColumn("Charged before", accessor="before__price_cents")
    price_after = AmountColumn("Charged now", accessor="after__price_cents")
    cost_before = AmountColumn("Cost before", accessor="before__cost_cents")
    cost_after = AmountColumn("Cost now", accessor="after__cost_cents")

    class Meta:
        empty_text = "Nothing moved."


class WriteOffTable(MoneyTable):
    title = "Written off"

    day = DayColumn("Day")
    site = PlainColumn("Site")
    number = LinkedColumn("Part", to=_shelf)
    kind = PlainColumn("How", accessor="kind_words")
    words = PlainColumn("Why")
    pieces = CountColumn("Pieces")
    cents = AmountColumn("Written off")

    class Meta:
        empty_text = "Nothing was written off on these days."


class ServiceDataTable(MoneyTable):
    """The yearly cost of service data over the days, now and before."""

    title = "Service data"

    first = DayColumn("From", accessor="span__first")
    last = DayColumn("To", accessor="span__last")
    cents = AmountColumn("Service data", accessor="service_data__cents")
    jobs = CountColumn("Sensor jobs", accessor="service_data__jobs")
    a_job = AmountColumn("A sensor job", accessor="service_data__a_job_cents")


class ShelfTable(MoneyTable):
    title = "What the shelves bring"

    words = LinkedColumn("Kind", to=_kind)
    gmroi = RatioColumn("Return a year")
    turns = RatioColumn("Turns a year")
    days = WholeColumn("Days on the shelf")
    margin = AmountColumn("Margin of parts", accessor="sold__margin_cents")
    cost = AmountColumn("Cost of parts sold", accessor="sold__parts_cents")
    mean = AmountColumn("Mean stock", accessor="mean_cents")
    stock = AmountColumn("Stock now", accessor="stock_cents")
    dead = AmountColumn("Dead", accessor="dead_cents")


class DeadTable(MoneyTable):
    title = "Dead money"

    number = LinkedColumn("Part", to=_shelf)
    words = PlainColumn("Description")
    site = PlainColumn("Site")
    pieces = CountColumn("Pieces")
    cents = AmountColumn("Cost")
    last_issued = DayColumn("Last issued")

    class Meta:
        empty_text = "Every part on the shelf was issued or came in within a year."


class UnservedSumTable(MoneyTable):
    """What was wanted and not sold from the shelf, by what became of it; each opens its rows."""

    title = "Wanted and not sold"

    words = LinkedColumn("What became of it", to=_unserved)
    times = CountColumn("Times")
    pieces = CountColumn("Pieces")
    worth = AmountColumn("At customer prices", accessor="worth_cents")
    cost = AmountColumn("It cost", accessor="cost_cents")


class UnservedTable(MoneyTable):
    title = "Each of them"

    day = DayColumn("Day")
    what = LinkedColumn("Wanted", to=_shelf)
    pieces = CountColumn("Pieces")
    job = LinkedColumn("Job", to=_job)
    worth = AmountColumn("At customer prices", accessor="worth_cents")
    cost = AmountColumn("It cost", accessor="cost_cents")

    class Meta:
        empty_text = "None on these days."


class RateTable(NamedTable):
    """How often jobs of a group came back; each name opens its jobs."""

    title = "How often jobs came back"

    name = LinkedColumn("", to=_group)
    came_back = RateColumn("Came back", accessor="came_back")
    low = ShareColumn("Likely from", accessor="came_back__low")
    high = ShareColumn("Likely to", accessor="came_back__high")
    cost = AmountColumn("They left", accessor="comebacks_cents")

    class Meta:
        empty_text = NO_JOB

    def render_came_back(self, value: Rate) -> str:
        return f"{value.happened} of {value.cases}" if value.cases else ""


class CauseTable(MoneyTable):
    """Comebacks by cause and payer; a cause that is ours is charged to the job it comes from."""

    title = "Why and who paid"

    cause = LinkedColumn("Cause", to=_cause, accessor="cause_words")
    payer = PlainColumn("Paid by", accessor="payer_words")
    count = CountColumn("Comebacks")
    charged = PlainColumn("Charged to the job before", accessor="charged_words")
    cents = AmountColumn("They left")

    class Meta:
        empty_text = "Nothing came back on these days."


class StemAgeTable(MoneyTable):
    title = "Body only or assembly"

    words = PlainColumn("Stem was")
    body = RateColumn("Body only came back", accessor="body")
    assembly = RateColumn("Whole assembly came back", accessor="assembly")


class BandTable(MoneyTable):
    title = "What bands had earned"

    words = PlainColumn("Kind")
    pieces = CountColumn("Pieces")
    margin = AmountColumn("Margin as charged", accessor="sold__margin_cents")
    share = ShareColumn("Share")
    banded = AmountColumn("Margin in bands", accessor="banded_margin_cents")
    banded_share = ShareColumn("Share in bands")
    gained = AmountColumn("More", accessor="gained_cents")


class PriceTable(MoneyTable):
    title = "Each part"

    number = LinkedColumn("Part", to=_part)
    words = PlainColumn("Description")
    kind = PlainColumn("Kind")
    price = AmountColumn("Price")
    cost = AmountColumn("Cost")
    margin = ShareColumn("Margin")
    offered = AmountColumn("Offered at")
    margin_offered = ShareColumn("Margin on the offer")
    wanted = AmountColumn("Price aimed at")
    change = AmountColumn("Change")

    class Meta:
        empty_text = "No part of this kind has a shelf or an offer."


class AccountTable(MoneyTable):
    title = "Accounts"

    name = LinkedColumn("Account", to=_account)
    margin = AmountColumn("Margin", accessor="margin_cents")
    share = ShareColumn("Share")
    jobs = LinkedColumn("Jobs", to=_account_jobs, attrs=NUMBER)
    price = AmountColumn("Charged", accessor="own__price_cents")
    cost = AmountColumn("Cost", accessor="own__cost_cents")
    discount = ShareColumn("Discount")
    vehicles = CountColumn("Vehicles")
    open_jobs = CountColumn("Open jobs")
    broken = CountColumn("Rules not kept")

    class Meta:
        empty_text = "No account yet. Accounts come with the workbook, on its sheet Accounts."


class BrokenTable(MoneyTable):
    title = "Rules not kept"

    key = LinkedColumn("Job", to=_job)
    account = PlainColumn("Account", accessor="account_name")
    what = PlainColumn("What is missing")
    total = AmountColumn("Price of the job", accessor="total_cents")
    closed_on = DayColumn("Closed")

    class Meta:
        empty_text = "Every job has its order number and, above the limit, its approval."


class DueTable(MoneyTable):
    title = "The next vehicles to come"

    name = LinkedColumn("Vehicle", to=_vehicle)
    unit_number = PlainColumn("Unit")
    chance = ShareColumn("A sensor fails within a year")
    oldest_since = DayColumn("Oldest body since")
    declined = CountColumn("Declined before")
    last_visit = DayColumn("Last visit")

    class Meta:
        empty_text = "This account has no vehicle here."
