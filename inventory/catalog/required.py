"""Whether a vehicle had to be built with a pressure monitoring system, by the United States rule.

It tells what to expect on a vehicle, never what may be left off one. Elsewhere other rules hold.
"""

from datetime import date, timedelta
from enum import Enum

from inventory.catalog.spans import month_after

# 49 CFR 571.138 S2, S7 (published, read): vehicles of this gross rating or less, no dual wheels.
MOST_KG = 4536
PHASED_IN_FROM, REQUIRED_FROM = date(2005, 10, 5), date(2007, 9, 1)


class Requirement(Enum):
    REQUIRED = "required"
    MAY_OR_MAY_NOT = "may or may not"
    BY_MONTH = "by month of building"
    BEFORE = "before the rule"
    TOO_HEAVY = "too heavy"


def requirement(first: date, last: date, *, rated_weight_kg: int | None = None) -> Requirement:
    """What the rule asks of vehicles built from `first` to `last`.

    From 1 September 2007 all must have a system; from 5 October 2005 a growing share, so that one
    of them may or may not. Altered and final-stage vehicles had a year longer.

    Source: 49 CFR 571.138 S2 and S7.

    >>> requirement(date(2012, 1, 1), date(2012, 12, 31))
    <Requirement.REQUIRED: 'required'>
    """
    if first > last:
        raise ValueError(f"the first day must not come after the last; got {first} and {last}")
    if rated_weight_kg is not None and rated_weight_kg > MOST_KG:
        return Requirement.TOO_HEAVY
    if first >= REQUIRED_FROM:
        return Requirement.REQUIRED
    if last < PHASED_IN_FROM:
        return Requirement.BEFORE
    if first >= PHASED_IN_FROM and last < REQUIRED_FROM:
        return Requirement.MAY_OR_MAY_NOT
    return Requirement.BY_MONTH


def days_built(
    year_from: int, year_to: int, built_from: date | None, built_to: date | None
) -> tuple[date, date]:
    """The first and last day on which vehicles of these model years may have been built.

    A model year begins after 1 January of the year before, and ends in its own
    (40 CFR 85.2302 to 85.2304, from memory).
    """
    first = max(date(year_from - 1, 1, 2), built_from or date.min)
    last = date(year_to, 12, 31)
    if built_to is not None:
        last = min(last, month_after(built_to) - timedelta(days=1))
    return first, max(first, last)
