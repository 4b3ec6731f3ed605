"""Tables of money: sortable in the page, and the same figures as plain values for a workbook.

Amounts are cents of the shop's currency; what cannot be divided is blank.
"""

from collections.abc import Iterable
from typing import Any
from urllib.parse import urlencode

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html

from inventory.shop.amounts import amount_text, day_text
from inventory.shop.models import ShopSettings
from inventory.templatetags.measures import percent
from jobs.costing.rates import Rate

NUMBER = {"td": {"class": "number"}, "th": {"class": "number"}}
NO_JOB = "No job was closed on these days. Choose more days above."


class PlainColumn(tables.Column):  # type: ignore[misc]  # the library is untyped
    """Its plain value goes to a workbook as it is."""

    def __init__(self, verbose_name: str | None = None, **options: Any) -> None:
        super().__init__(verbose_name=verbose_name, default="", **options)

    def value(self, value: Any) -> Any:
        return value


class NumberColumn(PlainColumn):
    def __init__(self, verbose_name: str | None = None, **options: Any) -> None:
        super().__init__(verbose_name, attrs=NUMBER, **options)


class AmountColumn(NumberColumn):
    """Cents."""

    def render(self, value: int, table: "MoneyTable") -> str:
        return amount_text(value, table.shop)


class ShareColumn(NumberColumn):
    """A part of a whole, said in percent."""

    def render(self, value: float) -> str:
        return percent(value)


class RatioColumn(NumberColumn):
    """A plain number to two figures behind the point."""

    def render(self, value: float) -> str:
        return f"{value:,.2f}"


class WholeColumn(NumberColumn):
    """A number of which only the whole part tells anything."""

    def render(self, value: float) -> str:
        return f"{value:,.0f}"


class DayColumn(PlainColumn):
    def render(self, value: Any, table: "MoneyTable") -> str:
        return day_text(value, table.shop)


class RateColumn(NumberColumn):
    """How often of how many, with the range that is likely; ordered by how often."""

    def __init__(self, verbose_name: str, *, accessor: str) -> None:
        super().__init__(verbose_name, accessor=accessor, order_by=f"{accessor}__happened")

    def render(self, value: Rate) -> str:
        if value.rate is None:
            return ""
        likely = f"{percent(value.low)} to {percent(value.high)}"
        return format_html(
            '{} of {} <span class="soft small">({})</span>', value.happened, value.cases, likely
        )

    def value(self, value: Rate) -> Any:
        return value.rate


class MoneyTable(tables.Table):  # type: ignore[misc]  # the library is untyped
    """A table that knows the shop, for its currency and its way to write days."""

    title = ""

    def __init__(self, rows: Iterable[Any], *, shop: ShopSettings, **options: Any) -> None:
        self.shop = shop
        super().__init__(list(rows), attrs={"aria_label": self.title}, **options)

    class Meta:
        empty_text = "Nothing on these days. Choose other days above."


def address(name: str, query: dict[str, Any]) -> str:
    return f"{reverse(name)}?{urlencode(query)}"


class GroupTable(MoneyTable):
    """Groups of jobs; each name opens its jobs."""

    title = "Figures by group"

    name = PlainColumn()
    jobs = NumberColumn("Jobs")
    margin = AmountColumn("Margin", accessor="margin_cents")
    share = ShareColumn("Share")
    price = AmountColumn("Charged", accessor="own__price_cents")
    cost = AmountColumn("Cost", accessor="own__cost_cents")
    comebacks = AmountColumn("Comebacks", accessor="comebacks_cents")
    a_job = AmountColumn("A job", accessor="a_job_cents")
    came_back = RateColumn("Came back", accessor="came_back")

    class Meta:
        empty_text = NO_JOB

    def __init__(
        self, rows: Iterable[Any], *, words: str, query: dict[str, Any], **options: Any
    ) -> None:
        self.query = query
        super().__init__(rows, **options)
        self.columns["name"].column.verbose_name = words

    def render_name(self, record: Any) -> str:
        to = address("jobs:money_jobs", self.query | {"is": record.key})
        return format_html('<a href="{}">{}</a>', to, record.name)

    def value_name(self, record: Any) -> str:
        return str(record.name)


class JobTable(MoneyTable):
    """Jobs, or what of each belongs to a group; each opens its lines."""

    title = "Jobs"

    job = PlainColumn(accessor="one__job__key")
    margin = AmountColumn("Margin", accessor="margin_cents")
    closed_on = DayColumn("Closed", accessor="one__job__closed_on")
    vehicle = PlainColumn(accessor="one__job__vehicle")
    work = PlainColumn("Work done", accessor="one__work")
    price = AmountColumn("Charged", accessor="own__price_cents")
    cost = AmountColumn("Cost", accessor="own__cost_cents")
    comebacks = AmountColumn("Comebacks", accessor="comebacks_cents")

    class Meta:
        empty_text = NO_JOB

    def render_job(self, record: Any) -> str:
        to = reverse("jobs:job_margin", args=[record.one.job.pk])
        return format_html('<a href="{}">{}</a>', to, record.one.job.key)

    def value_job(self, record: Any) -> str:
        return str(record.one.job.key)


class MovedTable(MoneyTable):
    """One bar of the bridge: how much of it each kind of work moved."""

    title = "What moved"

    work = PlainColumn("Work done")
    moved = AmountColumn("Moved", accessor="cents")
    jobs_before = NumberColumn("Jobs before", accessor="before__count")
    jobs_after = NumberColumn("Jobs now", accessor="after__count")
    price_before = AmountColumn("Charged before", accessor="before__price_cents")
    price_after = AmountColumn("Charged now", accessor="after__price_cents")
    cost_before = AmountColumn("Cost before", accessor="before__cost_cents")
    cost_after = AmountColumn("Cost now", accessor="after__cost_cents")

    def __init__(self, rows: Iterable[Any], *, query: dict[str, Any], **options: Any) -> None:
        self.query = query
        super().__init__(rows, **options)

    def render_work(self, record: Any) -> str:
        to = address("jobs:money_jobs", self.query | {"by": "work", "is": record.work})
        return format_html('<a href="{}">{}</a>', to, record.work)

    def value_work(self, record: Any) -> str:
        return str(record.work)


class WriteOffTable(MoneyTable):
    title = "Written off"

    day = DayColumn("Day")
    site = PlainColumn("Site")
    part = PlainColumn("Part", accessor="number")
    kind = PlainColumn("How", accessor="kind_words")
    words = PlainColumn("Why")
    pieces = NumberColumn("Pieces")
    cents = AmountColumn("Written off")

    def render_part(self, record: Any) -> str:
        return part_link(record.part, record.number)

    def value_part(self, record: Any) -> str:
        return str(record.number)


class ShelfTable(MoneyTable):
    title = "What the shelves bring"

    words = PlainColumn("Kind")
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

    part = PlainColumn(accessor="number")
    words = PlainColumn("Description")
    site = PlainColumn("Site")
    pieces = NumberColumn("Pieces")
    cents = AmountColumn("Cost")
    last_issued = DayColumn("Last issued")

    class Meta:
        empty_text = "Every part on the shelf was issued or came in within a year."

    def render_part(self, record: Any) -> str:
        return part_link(record.part, record.number)

    def value_part(self, record: Any) -> str:
        return str(record.number)


class UnservedSumTable(MoneyTable):
    """What was wanted and not sold from the shelf, by what became of it; each opens its rows."""

    title = "Wanted and not sold from the shelf"

    words = PlainColumn("What became of it")
    times = NumberColumn("Times")
    pieces = NumberColumn("Pieces")
    worth = AmountColumn("At customer prices", accessor="worth_cents")
    cost = AmountColumn("It cost", accessor="cost_cents")

    def __init__(self, rows: Iterable[Any], *, query: dict[str, Any], **options: Any) -> None:
        self.query = query
        super().__init__(rows, **options)

    def render_words(self, record: Any) -> str:
        to = address("jobs:money_shelf", self.query | {"how": record.how})
        return format_html('<a href="{}#rows">{}</a>', to, record.words)

    def value_words(self, record: Any) -> str:
        return str(record.words)


class UnservedTable(MoneyTable):
    title = "Each of them"

    day = DayColumn("Day")
    words = PlainColumn("What became of it")
    what = PlainColumn("Wanted")
    pieces = NumberColumn("Pieces")
    job = PlainColumn("Job")
    worth = AmountColumn("At customer prices", accessor="worth_cents")
    cost = AmountColumn("It cost", accessor="cost_cents")

    def render_what(self, record: Any) -> str:
        return part_link(record.part, record.what) if record.part else record.what

    def value_what(self, record: Any) -> str:
        return str(record.what)

    def __init__(self, rows: Iterable[Any], *, jobs: dict[str, int], **options: Any) -> None:
        self.jobs = jobs
        super().__init__(rows, **options)

    def render_job(self, record: Any) -> str:
        pk = self.jobs.get(record.job)
        if pk is None:
            return str(record.job)
        return format_html('<a href="{}">{}</a>', reverse("jobs:job_detail", args=[pk]), record.job)

    def value_job(self, record: Any) -> str:
        return str(record.job)


def part_link(part: int, number: str) -> str:
    return format_html('<a href="{}">{}</a>', reverse("inventory:part_shelf", args=[part]), number)


class RateTable(MoneyTable):
    """How often jobs of a group came back; each name opens its jobs."""

    title = "How often jobs came back"

    name = PlainColumn()
    came_back = RateColumn("Came back", accessor="came_back")
    low = ShareColumn("Likely from", accessor="came_back__low")
    high = ShareColumn("to", accessor="came_back__high")
    cost = AmountColumn("They took", accessor="comebacks_cents")

    def __init__(
        self, rows: Iterable[Any], *, words: str, query: dict[str, Any], **options: Any
    ) -> None:
        self.query = query
        super().__init__(rows, **options)
        self.columns["name"].column.verbose_name = words

    def render_name(self, record: Any) -> str:
        to = address("jobs:money_jobs", self.query | {"is": record.key})
        return format_html('<a href="{}">{}</a>', to, record.name)

    def value_name(self, record: Any) -> str:
        return str(record.name)

    def render_came_back(self, value: Rate) -> str:
        return f"{value.happened} of {value.cases}" if value.cases else ""


class CauseTable(MoneyTable):
    """Comebacks by cause and payer; a cause that is ours is charged to the job it comes from."""

    title = "Why they came back and who paid"

    cause = PlainColumn("Cause", accessor="cause_words")
    payer = PlainColumn("Paid by", accessor="payer_words")
    count = NumberColumn("Comebacks")
    charged = PlainColumn("Charged to the job before", accessor="charged_words")
    cents = AmountColumn("They left")

    def __init__(self, rows: Iterable[Any], *, query: dict[str, Any], **options: Any) -> None:
        self.query = query
        super().__init__(rows, **options)

    def render_cause(self, record: Any) -> str:
        to = address("jobs:money_jobs", self.query | {"by": "visit", "is": record.cause})
        return format_html('<a href="{}">{}</a>', to, record.cause_words)

    def value_cause(self, record: Any) -> str:
        return str(record.cause_words)


class StemAgeTable(MoneyTable):
    title = "Body only against the whole assembly, by the age of the stem"

    words = PlainColumn("Stem was")
    body = RateColumn("Body only came back", accessor="body")
    assembly = RateColumn("Whole assembly came back", accessor="assembly")


class BandTable(MoneyTable):
    title = "What the bands would have earned"

    words = PlainColumn("Kind")
    pieces = NumberColumn("Pieces")
    margin = AmountColumn("Margin as charged", accessor="sold__margin_cents")
    share = ShareColumn("Share")
    banded = AmountColumn("Margin in bands", accessor="banded_margin_cents")
    banded_share = ShareColumn("Share in bands")
    gained = AmountColumn("More", accessor="gained_cents")


class PriceTable(MoneyTable):
    title = "Each part"

    number = PlainColumn("Part")
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

    def render_number(self, record: Any) -> str:
        address = reverse("inventory:part_detail", args=[record.part])
        return format_html('<a href="{}">{}</a>', address, record.number)

    def value_number(self, record: Any) -> str:
        return str(record.number)
