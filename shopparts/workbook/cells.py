"""Cells read forgivingly: what a person meant by “35 psi”, “Snap in”, 12.5 or a real date.

One reader per column, made once per sheet. A reader gets what openpyxl or csv found, never blank
and already stripped, and gives the value as `inventory.sheet.Kind` says, or raises
UnreadableError.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from decimal import Decimal
from functools import partial
from math import isfinite
from typing import Any

from django.core.exceptions import ValidationError

from inventory.sheet import Column, Kind
from inventory.sheet.text import ERRORS, from_cell
from inventory.shop.units import whole_cnm, whole_kpa
from shopparts.workbook.amounts import (
    PRESSURES,
    TORQUES,
    ForeignError,
    bare_amount,
    counted,
    letters,
    measure,
    number,
)
from shopparts.workbook.days import day_example, day_written, month_written
from shopparts.workbook.faults import UnreadableError, as_clause, quoted

Read = Callable[[Any], Any]

_YES = frozenset({"yes", "y", "true", "x", "1"})
_NO = frozenset({"no", "n", "false", "0"})
_NO_NUMBER = "is not a number; write one such as 2.5"
_NO_WHOLE = "is not a whole number; write one such as 4"
_PARTS = re.compile(r"\s*(?:[,;/+&]|\band\b)\s*")


@dataclass(slots=True)
class Units:
    """What a bare number means in this shop. Changes when the shop's own sheet says otherwise."""

    minor_digits: int = 2
    pressure: str = "psi"
    torque: str = "nm"
    currency: str = "USD"
    date_order: str = "Y-m-d"


def reader(column: Column, units: Units, heading_unit: str = "") -> Read:
    """The function that reads this column's cells; `heading_unit` is the unit its heading names."""
    read = _READERS[column.kind or Kind.TEXT](column, units, heading_unit)
    return partial(_checked, read, column) if column.checks else read


def _checked(read: Read, column: Column, said: Any) -> Any:
    value = read(said)
    for check in column.checks:
        try:
            check(value)
        except ValidationError as refusal:
            raise UnreadableError(as_clause(" ".join(refusal.messages))) from None
    return value


def _text(column: Column, units: Units, heading_unit: str) -> Read:
    longest = column.longest or 32_000

    def read(said: Any) -> str:
        text = from_cell(said) if type(said) is str else _number_as_text(said)
        if len(text) > longest:
            raise UnreadableError(
                f"{quoted(text)} has {len(text)} characters; write at most {longest}"
            )
        if "\x00" in text:
            raise UnreadableError(f"{quoted(text)} holds a null character; write it without")
        if said in ERRORS:
            raise UnreadableError(f"the formula gives {said}; correct it")
        return text

    return read


def _number_as_text(said: Any) -> str:
    if isinstance(said, bool) or not isinstance(said, int | float):
        raise UnreadableError(
            f"the cell holds {_named(said)} and not text; format it as text and write it again"
        )
    return str(int(said)) if said == int(said) else repr(said)


def _named(said: Any) -> str:
    if isinstance(said, datetime) and said.time() == time():
        said = said.date()
    return f"the {'truth value' if isinstance(said, bool) else 'date or time'} {said}"


def _within(value: int | Decimal, column: Column, said: Any) -> None:
    low, high = column.low, column.high
    if (low is None or value >= low) and (high is None or value <= high):
        return
    if low is not None and high is not None:
        allowed = f"a number from {low} to {high}"
    else:
        allowed = f"{high} or less" if low is None else f"{low} or more"
    way = "less" if low is not None and value < low else "more"
    raise UnreadableError(f"{quoted(said)} is {way} than can be; write {allowed}")


def _whole(column: Column, units: Units, heading_unit: str) -> Read:
    def read(said: Any) -> int:
        value = said if type(said) is int else _integral(counted(said, column.field), _NO_WHOLE)
        _within(value, column, said)
        return value

    return read


def _integral(said: Any, problem: str) -> int:
    try:
        found = number(said)
    except ValueError:
        raise UnreadableError(f"{quoted(said)} {problem}") from None
    if found != int(found):
        raise UnreadableError(f"{quoted(said)} {problem}")
    return int(found)


def _minor_digits(column: Column, units: Units, heading_unit: str) -> Read:
    whole = _whole(column, units, heading_unit)

    def read(said: Any) -> int:
        units.minor_digits = whole(said)
        return units.minor_digits

    return read


def _decimal(column: Column, units: Units, heading_unit: str) -> Read:
    def read(said: Any) -> Decimal:
        try:
            value = number(said)
        except ValueError:
            raise UnreadableError(f"{quoted(said)} {_NO_NUMBER}") from None
        _within(value, column, said)
        return value

    return read


def _real(column: Column, units: Units, heading_unit: str) -> Read:
    def read(said: Any) -> float:
        try:
            # As text a value may have more digits than a cell holds; as either, any size.
            plain = isinstance(said, float) or (isinstance(said, str) and "," not in said)
            value = float(said if plain else number(said))
        except ValueError:
            raise UnreadableError(f"{quoted(said)} {_NO_NUMBER}") from None
        if not isfinite(value):
            raise UnreadableError(f"{quoted(said)} {_NO_NUMBER}")
        return value

    return read


def _money(column: Column, units: Units, heading_unit: str) -> Read:
    def read(said: Any) -> int:
        digits = units.minor_digits
        example = f"{Decimal(1250).scaleb(-digits)}"
        try:
            minor = number(bare_amount(said, units.currency)).scaleb(digits)
        except ForeignError:
            raise UnreadableError(
                f"{quoted(said)} is in another currency; write it in {units.currency}"
            ) from None
        except ValueError:
            raise UnreadableError(
                f"{quoted(said)} is not an amount of money; write one such as {example}"
            ) from None
        if minor != int(minor):
            raise UnreadableError(
                f"{quoted(said)} has more than {digits} digits after the point; "
                f"write an amount such as {example}"
            )
        _within(int(minor), column, said)
        return int(minor)

    return read


def _pressure(column: Column, units: Units, heading_unit: str) -> Read:
    def as_kpa(amount: Decimal, unit: str) -> int:
        return whole_kpa(amount, PRESSURES[unit or heading_unit or units.pressure])

    return _measure(column, as_kpa, "a pressure; write one such as 35 psi, 240 kPa or 2.4 bar")


def _torque(column: Column, units: Units, heading_unit: str) -> Read:
    def as_cnm(amount: Decimal, unit: str) -> int:
        known, times = TORQUES[unit or heading_unit or letters(units.torque)]
        return whole_cnm(amount * times, known)

    return _measure(column, as_cnm, "a torque; write one such as 8 N·m or 62 lbf·in")


def _measure(column: Column, kept: Callable[[Decimal, str], int], what: str) -> Read:
    def read(said: Any) -> int:
        try:
            value = kept(*measure(said))
        except (ValueError, KeyError):
            raise UnreadableError(f"{quoted(said)} is not {what}") from None
        _within(value, column, said)
        return value

    return read


def _date(column: Column, units: Units, heading_unit: str) -> Read:
    def read(said: Any) -> date:
        if isinstance(said, datetime):
            return said.date()
        try:
            return day_written(said, units.date_order)
        except (AttributeError, TypeError, ValueError):
            raise UnreadableError(
                f"{quoted(said)} is not a date; write one such as {day_example(units.date_order)}"
            ) from None

    return read


def _month(column: Column, units: Units, heading_unit: str) -> Read:
    def read(said: Any) -> date:
        if isinstance(said, datetime):
            return said.date().replace(day=1)
        try:
            return month_written(str(said), units.date_order)
        except ValueError:
            raise UnreadableError(
                f"{quoted(said)} is not a month; write one such as 2019-04"
            ) from None

    return read


def _time(column: Column, units: Units, heading_unit: str) -> Read:
    def read(said: Any) -> time:
        if isinstance(said, time):
            return said
        try:
            return time.fromisoformat(said.zfill(5))
        except (AttributeError, ValueError):
            raise UnreadableError(
                f"{quoted(said)} is not a time; write one such as 15:00"
            ) from None

    return read


def _instant(column: Column, units: Units, heading_unit: str) -> Read:
    def read(said: Any) -> datetime:
        try:
            at = said if isinstance(said, datetime) else _moment(said, units.date_order)
        except (AttributeError, TypeError, ValueError):
            raise UnreadableError(
                f"{quoted(said)} is not a date and time; write one such as 2026-03-09T14:05:00Z"
            ) from None
        return at.astimezone(UTC) if at.tzinfo else at.replace(tzinfo=UTC)

    return read


def _moment(said: str, order: str) -> datetime:
    try:
        return datetime.fromisoformat(said)
    except ValueError:
        day, _, clock = said.rpartition(" ") if ":" in said else (said, "", "")
        at = time.fromisoformat(clock.zfill(5)) if clock else time()
        return datetime.combine(day_written(day, order), at)


def _yes_no(column: Column, units: Units, heading_unit: str) -> Read:
    def read(said: Any) -> bool:
        word = str(said).casefold()
        if word not in _YES and word not in _NO:
            raise UnreadableError(f"{quoted(said)} is neither yes nor no; write one of the two")
        return word in _YES

    return read


def _folded(word: str) -> str:
    return "".join(c for c in word.casefold() if c.isalnum() or c == ".")


def _choice(column: Column, units: Units, heading_unit: str) -> Read:
    known = {_folded(label): value for value, label in column.choices}
    known |= {_folded(value): value for value, _ in column.choices}
    labels = ", ".join(label for _, label in column.choices)

    def read(said: Any) -> str:
        text = said if type(said) is str else _number_as_text(said)
        value = known.get(_folded(text))
        if value is None and column.words is not None:
            try:
                value = column.words(text)
            except ValueError:
                value = None
        if value is None:
            raise UnreadableError(f"{quoted(said)} is none of the choices; write one of: {labels}")
        return value

    return read


def _choices(column: Column, units: Units, heading_unit: str) -> Read:
    one = _choice(column, units, heading_unit)

    def read(said: Any) -> frozenset[str]:
        text = said if type(said) is str else _number_as_text(said)
        return frozenset(one(word) for word in _PARTS.split(text) if word)

    return read


_READERS: dict[Kind, Callable[[Column, Units, str], Read]] = {
    Kind.TEXT: _text,
    Kind.WHOLE: _whole,
    Kind.NUMBER: _decimal,
    Kind.REAL: _real,
    Kind.MONEY: _money,
    Kind.MINOR_DIGITS: _minor_digits,
    Kind.DATE: _date,
    Kind.MONTH: _month,
    Kind.TIME: _time,
    Kind.INSTANT: _instant,
    Kind.YES_NO: _yes_no,
    Kind.CHOICE: _choice,
    Kind.CHOICES: _choices,
    Kind.PRESSURE: _pressure,
    Kind.TORQUE: _torque,
}
