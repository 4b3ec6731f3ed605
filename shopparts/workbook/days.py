"""Days and months written as text: ISO, a month by its name, or the shop's own order.

Nothing is guessed: where day and month could be swapped, only the order set for the shop counts,
and a year of two digits is none.
"""

import re
from datetime import date

from inventory.shop.amounts import day_text
from inventory.shop.models import DateOrder, ShopSettings

_MONTHS = {
    name: number
    for number, names in enumerate(
        (
            ("jan", "january"),
            ("feb", "february"),
            ("mar", "march"),
            ("apr", "april"),
            ("may",),
            ("jun", "june"),
            ("jul", "july"),
            ("aug", "august"),
            ("sep", "sept", "september"),
            ("oct", "october"),
            ("nov", "november"),
            ("dec", "december"),
        ),
        start=1,
    )
    for name in names
}
_YEAR_FIRST = re.compile(r"(\d{4})([-/.])(\d{1,2})\2(\d{1,2})")
_YEAR_LAST = re.compile(r"(\d{1,2})([-/.])(\d{1,2})\2(\d{4})")
_DAY_NAMED = re.compile(r"(\d{1,2})(?:st|nd|rd|th)?[-. ]+([a-z]+)[-.,]*[ -]*(\d{4})")
_NAMED_DAY = re.compile(r"([a-z]+)\.? +(\d{1,2})(?:st|nd|rd|th)?,? +(\d{4})")
_MONTH_FORMS = (
    (re.compile(r"(?P<year>\d{4})[-/.](?P<month>\d{1,2})"), "digits"),
    (re.compile(r"(?P<month>\d{1,2})[-/.](?P<year>\d{4})"), "digits"),
    (re.compile(r"(?P<month>[a-z]+)[-., ]+(?P<year>\d{4})"), "name"),
)
EXAMPLE = date(2026, 3, 9)


def day_written(text: str, order: str) -> date:
    """The day a text names, read in the shop's order; ValueError when it names none for sure.

    >>> day_written("3/9/2026", "m/d/Y") == day_written("9 Mar 2026", "d.m.Y")
    True
    """
    said = text.strip().casefold()
    if found := _YEAR_FIRST.fullmatch(said):
        return date(int(found[1]), int(found[3]), int(found[4]))
    if found := _DAY_NAMED.fullmatch(said):
        return date(int(found[3]), _month_named(found[2]), int(found[1]))
    if found := _NAMED_DAY.fullmatch(said):
        return date(int(found[3]), _month_named(found[1]), int(found[2]))
    if found := _YEAR_LAST.fullmatch(said):
        first, second = _in_order(int(found[1]), int(found[3]), found[2], order)
        return date(int(found[4]), first, second)
    return date.fromisoformat(text.strip())


def _in_order(first: int, second: int, mark: str, order: str) -> tuple[int, int]:
    """Month and day. Points between them are no month-first writing."""
    if order == DateOrder.DAY_FIRST:
        return second, first
    if order == DateOrder.MONTH_FIRST and mark != ".":
        return first, second
    raise ValueError("day and month may be swapped")


def _month_named(word: str) -> int:
    if word not in _MONTHS:
        raise ValueError(word)
    return _MONTHS[word]


def month_written(text: str, order: str) -> date:
    """The first day of the month a text names; a whole date names its month too."""
    said = text.strip().casefold()
    for form, kind in _MONTH_FORMS:
        if found := form.fullmatch(said):
            month = _month_named(found["month"]) if kind == "name" else int(found["month"])
            return date(int(found["year"]), month, 1)
    return day_written(text, order).replace(day=1)


def day_example(order: str) -> str:
    """How a day may be written here, for a sentence that refuses another."""
    iso = EXAMPLE.isoformat()
    own = day_text(EXAMPLE, ShopSettings(date_order=order))
    return iso if own == iso else f"{iso} or {own}"
