"""Values as the cells of an exported sheet show them: the inverse of `cells`, value by value."""

from collections.abc import Callable
from datetime import date, datetime, time
from decimal import Decimal
from typing import Any

from inventory.sheet import Column, Kind
from inventory.sheet.text import as_cell

Write = Callable[[Any], Any]

_UNITS = {Kind.PRESSURE: "kPa", Kind.TORQUE: "N·m"}
_FIRST_SERIAL = date(1901, 1, 1)
"""Spreadsheet programs count days from 1900 and disagree about its first two months."""

_NOTES = {
    Kind.WHOLE: "a whole number",
    Kind.NUMBER: "a number",
    Kind.REAL: "a number",
    Kind.MONEY: "an amount such as 12.50",
    Kind.MINOR_DIGITS: "a whole number",
    Kind.DATE: "a date such as 2026-03-09",
    Kind.MONTH: "a month such as 2019-04",
    Kind.TIME: "a time such as 15:00",
    Kind.INSTANT: "a date and time such as 2026-03-09T14:05:00Z; UTC where no zone stands behind",
    Kind.YES_NO: "yes or no",
    Kind.PRESSURE: "a pressure such as 35 psi, 240 kPa or 2.4 bar",
    Kind.TORQUE: "a torque such as 8 N·m or 62 lbf·in",
}


def heading(column: Column) -> str:
    unit = _UNITS.get(column.kind or Kind.TEXT)
    return f"{column.heading}, {unit}" if unit else column.heading


def column_note(column: Column) -> str:
    """What goes into a column, in a few words."""
    if column.to:
        what = f"as on the sheet “{column.to}”"
    elif column.choices:
        several = "one or several of: " if column.kind is Kind.CHOICES else "one of: "
        what = several + ", ".join(label for _, label in column.choices)
    else:
        longest = f", at most {column.longest} characters" if column.longest else ""
        what = _NOTES.get(column.kind or Kind.TEXT, f"text{longest}")
    needed = "needed" if column.required else "may be blank"
    return ". ".join(part for part in (f"{column.help}".rstrip("."), what, needed) if part)


def cell_writer(column: Column, minor_digits: int) -> Write:
    """The function that turns this column's values, save None, into what a cell holds."""
    kind = column.kind or Kind.TEXT
    if kind is Kind.MONEY:
        return lambda cents: Decimal(cents).scaleb(-minor_digits)
    if kind in {Kind.CHOICE, Kind.CHOICES}:
        labels = dict(column.choices)
        if kind is Kind.CHOICE:
            return lambda value: as_cell(labels[value]) if value in labels else as_cell(value)
        return lambda values: as_cell("; ".join(w for v, w in labels.items() if v in values))
    return _WRITERS.get(kind, lambda value: value)


def _date(value: date) -> date | str:
    return value if value >= _FIRST_SERIAL else value.isoformat()


def _number(value: Decimal | float) -> Any:
    """As a number where a cell, which has 15 digits, holds it exactly; else as text."""
    return value if type(value)(f"{value:.15g}") == value else str(value)


def _instant(value: datetime) -> str:
    return value.isoformat()


def _time(value: time) -> str:
    return value.isoformat()


_WRITERS: dict[Kind, Write] = {
    Kind.TEXT: as_cell,
    Kind.NUMBER: _number,
    Kind.REAL: _number,
    Kind.DATE: _date,
    Kind.MONTH: lambda month: f"{month:%Y-%m}",
    Kind.TIME: _time,
    Kind.INSTANT: _instant,
    Kind.YES_NO: lambda value: "yes" if value else "no",
    Kind.TORQUE: lambda cnm: Decimal(cnm) / 100,
}
