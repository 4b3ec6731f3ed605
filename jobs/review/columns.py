"""What the columns of a table of money hold: amounts, shares, rates, days, links to what is behind.

Each says its value in words on the page and gives it as it is to a workbook. Amounts are cents of
the shop's currency; what cannot be divided is blank.
"""

from collections.abc import Callable, Iterable
from typing import Any
from urllib.parse import urlencode

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html

from inventory.shop.amounts import amount_text, day_text, percent_figure, percent_text
from inventory.shop.models import ShopSettings
from jobs.costing.rates import Rate

NUMBER = {"td": {"class": "number"}, "th": {"class": "number"}}


class MoneyTable(tables.Table):  # type: ignore[misc]  # the library is untyped
    """Knows the shop, for its currency and its way to write days, and the filter of its page."""

    title = ""

    def __init__(
        self,
        rows: Iterable[Any],
        *,
        shop: ShopSettings,
        query: dict[str, Any] | None = None,
        **options: Any,
    ) -> None:
        self.shop, self.query = shop, query or {}
        # Apart from the name of the section that it stands in.
        attrs = {"aria_label": f"Table: {self.title}", "class": "stack"}
        super().__init__(list(rows), attrs=attrs, **options)

    def address(self, name: str, **more: Any) -> str:
        """A page with the filter of this one, and more besides."""
        return address(name, self.query | more)


def address(name: str, query: dict[str, Any]) -> str:
    return f"{reverse(name)}?{urlencode(query)}"


class PlainColumn(tables.Column):  # type: ignore[misc]  # the library is untyped
    def __init__(self, verbose_name: str | None = None, **options: Any) -> None:
        super().__init__(verbose_name=verbose_name, default="", **options)

    def value(self, value: Any) -> Any:
        return value


class LinkedColumn(PlainColumn):
    """Leads to what is behind it; plain where `to` knows no address."""

    def __init__(
        self, verbose_name: str, *, to: Callable[[Any, MoneyTable], str], **options: Any
    ) -> None:
        self.to = to
        super().__init__(verbose_name, **options)

    def render(self, value: Any, record: Any, table: MoneyTable) -> str:
        found = self.to(record, table)
        return format_html('<a href="{}">{}</a>', found, value) if found else value


class NumberColumn(PlainColumn):
    def __init__(self, verbose_name: str | None = None, **options: Any) -> None:
        super().__init__(verbose_name, attrs=NUMBER, **options)


class CountColumn(NumberColumn):
    """Pieces, jobs, vehicles."""

    def render(self, value: int) -> str:
        return f"{value:,}"


class AmountColumn(NumberColumn):
    """Cents."""

    def render(self, value: int, table: MoneyTable) -> str:
        return amount_text(value, table.shop)


class ShareColumn(NumberColumn):
    """A part of a whole; its head says that it is in percent."""

    def __init__(self, verbose_name: str, **options: Any) -> None:
        super().__init__(f"{verbose_name}, %", **options)

    def render(self, value: float) -> str:
        return percent_figure(value)


class RatioColumn(NumberColumn):
    """A plain number to two figures behind the point."""

    def render(self, value: float) -> str:
        return f"{value:,.2f}"


class WholeColumn(NumberColumn):
    """A number of which only the whole part tells anything."""

    def render(self, value: float) -> str:
        return f"{value:,.0f}"


class DayColumn(PlainColumn):
    def render(self, value: Any, table: MoneyTable) -> str:
        return day_text(value, table.shop)


class RateColumn(NumberColumn):
    """How often of how many, with the range that is likely; ordered by how often."""

    def __init__(self, verbose_name: str, *, accessor: str) -> None:
        super().__init__(verbose_name, accessor=accessor, order_by=f"{accessor}__happened")

    def render(self, value: Rate) -> str:
        if value.rate is None or value.low is None or value.high is None:
            return ""
        likely = f"{percent_text(value.low)} to {percent_text(value.high)}"
        return format_html(
            '{} of {} <span class="soft small">({})</span>', value.happened, value.cases, likely
        )

    def value(self, value: Rate) -> Any:
        return value.rate
