"""How old a part is: years on the road, and stored years at a slower pace.

From dated intervals of the wheel it sits on, never from where the wheel stands now. That a stored
part ages at 0.6 of the pace is an assumption the owner can change.
"""

from collections.abc import Iterable
from datetime import date

STORED_PACE = 0.6
DAYS_PER_YEAR = 365.25

Interval = tuple[date, date | None]
"""From and to; None where it still lasts."""


def age_years(
    since: date, until: date, *, stored: Iterable[Interval] = (), pace: float = STORED_PACE
) -> float:
    """Years a part has aged between two days.

    (days on the road + pace × days stored) / 365.25.

    Parameters
    ----------
    since, until : days it was fitted and is looked at
    stored : intervals in which its wheel lay stored; they may overlap and reach beyond
    pace : years aged in a stored year, 0 to 1

    Raises
    ------
    ValueError
        If `until` comes before `since`, or the pace is not between 0 and 1.

    >>> age_years(date(2020, 1, 1), date(2024, 1, 1))
    4.0
    >>> winters = [(date(2020, 4, 1), date(2020, 11, 1)), (date(2021, 4, 1), None)]
    >>> round(age_years(date(2020, 1, 1), date(2022, 1, 1), stored=winters), 2)
    1.47
    """
    if until < since:
        raise ValueError(f"a part fitted on {since} has no age on {until}, which is earlier")
    if not 0 <= pace <= 1:
        raise ValueError(f"a stored year ages a part by 0 to 1 year; got {pace}")
    days, resting = (until - since).days, _days_covered(stored, since, until)
    return (days - resting + pace * resting) / DAYS_PER_YEAR


def _days_covered(intervals: Iterable[Interval], since: date, until: date) -> int:
    """Days between two days that lie in any of the intervals, each counted once."""
    covered, reached = 0, since
    for first, last in sorted(intervals, key=lambda interval: interval[0]):
        begin, end = max(first, reached), min(last or until, until)
        if end > begin:
            covered += (end - begin).days
            reached = end
    return covered
