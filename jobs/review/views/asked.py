"""Which days and which site a money page is asked for; all of it stands in the address."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django_tables2 import RequestConfig

from inventory.shop.amounts import day_text
from inventory.shop.here import site_here, sites_open
from inventory.shop.models import ShopSettings, Site
from jobs.review.columns import MoneyTable
from jobs.review.period import DAYS_AT_FIRST, Span
from jobs.review.workbook import workbook

LENGTHS = (7, 30, 90, 365)
FIRST_YEAR, LAST_YEAR = 2000, 2100
ROWS_SHOWN = 50
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"

Context = dict[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """`other` is the span that is held against `span`: the days before unless the address says."""

    span: Span
    other: Span
    site: Site | None
    shop: ShopSettings
    names: dict[str, str]

    def query(self, **more: str) -> dict[str, str]:
        """The filter as the address holds it, and more besides."""
        days = {"first": self.span.first.isoformat(), "last": self.span.last.isoformat()}
        if self.other != self.span.before:
            days |= {
                "other_first": self.other.first.isoformat(),
                "other_last": self.other.last.isoformat(),
            }
        if self.site:
            days["site"] = self.site.code
        return days | more

    @property
    def words(self) -> str:
        first, last = day_text(self.span.first, self.shop), day_text(self.span.last, self.shop)
        return f"Closed from {first} to {last}, {self.site or 'all sites'}."

    def file_name(self, template: str) -> str:
        """By the page and its days, such as money_shelf_2026-03-01_2026-03-30.xlsx."""
        return f"{Path(template).stem}_{self.span.first}_{self.span.last}.xlsx"

    @property
    def kept(self) -> str:
        return urlencode(self.query())

    @property
    def before_kept(self) -> str:
        """The same page on the other days."""
        days = {"first": self.other.first.isoformat(), "last": self.other.last.isoformat()}
        return urlencode(days | ({"site": self.site.code} if self.site else {}))

    @property
    def lengths(self) -> list[dict[str, Any]]:
        """Links to the same page over the last week, month, quarter and year."""
        site = {"site": self.site.code} if self.site else {}
        found = []
        for days in LENGTHS:
            first = self.span.last - timedelta(days=days - 1)
            query = {"first": first.isoformat(), "last": self.span.last.isoformat()}
            current = days == self.span.days
            address = urlencode(query | site | self.names)
            found.append({"days": days, "address": address, "current": current})
        return found


def asked(request: HttpRequest, *names: str, days: int = DAYS_AT_FIRST) -> Asked:
    """The days in the address, else the last so many of the site in hand.

    names : what else of the address the links to other days keep
    """
    last = _day(request, "last") or site_here(request).today()
    first = _day(request, "first") or last - timedelta(days=days - 1)
    span = Span(first=min(first, last), last=max(first, last))
    code = request.GET.get("site", "")
    return Asked(
        span=span,
        other=_other(request) or span.before,
        site=next((site for site in sites_open(request) if site.code == code), None),
        shop=ShopSettings.load(),
        names={name: request.GET[name] for name in names if name in request.GET},
    )


def _other(request: HttpRequest) -> Span | None:
    first, last = _day(request, "other_first"), _day(request, "other_last")
    return Span(first=min(first, last), last=max(first, last)) if first and last else None


def _day(request: HttpRequest, name: str) -> date | None:
    try:
        day = date.fromisoformat(request.GET.get(name, ""))
    except ValueError:
        return None
    # A span as long before it must still be days of the calendar, and so must the day after.
    return day if FIRST_YEAR < day.year < LAST_YEAR else None


def answer(request: HttpRequest, template: str, wanted: Asked, context: Context) -> HttpResponse:
    """The page, or with `as=workbook` in the address all its tables as one."""
    if request.GET.get("as") != "workbook":
        save = urlencode(request.GET.dict() | {"as": "workbook"})
        more = {"asked": wanted, "shop": wanted.shop, "save": save}
        return render(request, template, context | more)
    tables = [value for value in context.values() if isinstance(value, MoneyTable)]
    return saved(tables, filtered=wanted.words, name=wanted.file_name(template))


def saved(tables: Sequence[MoneyTable], *, filtered: str, name: str) -> HttpResponse:
    """Tables as a workbook to keep."""
    return HttpResponse(
        workbook(tables, filtered=filtered),
        content_type=XLSX,
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )


def shown(request: HttpRequest, table: MoneyTable) -> MoneyTable:
    """Sorted and paged as the address asks."""
    RequestConfig(request, paginate={"per_page": ROWS_SHOWN}).configure(table)
    return table
