"""How old a piece is: the days it rolled in full, the days it lay stored at a slower rate. Pure.

Ages follow the piece through every rim it sat in, never the place where a wheel stands now.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from typing import NamedTuple

STORED_RATE = 0.6
"""How fast a stored piece ages beside one that rolls: an assumption, no source."""

DAYS_A_YEAR = 365.25


class Span(NamedTuple):
    """From a day up to another; None where it lasts."""

    since: date
    until: date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Stay:
    """A stretch of a piece's life in one wheel, and when that wheel lay stored."""

    span: Span
    stored: Sequence[Span] = ()


def years_lived(stays: Sequence[Stay], on: date, *, stored_rate: float = STORED_RATE) -> float:
    """The age of a piece on a day, from its stays in order; what lay between them was stored.

    Σ over stays of (days − (1 − rate) × days stored), plus rate × days between stays, over 365.25.

    Parameters
    ----------
    stays : each stay in a wheel, the first begins the life
    on : a day; days before the first stay give 0
    stored_rate : share of a rolling day that a stored day counts

    Returns
    -------
    years

    >>> rolled = Stay(span=Span(date(2020, 1, 1), None))
    >>> round(years_lived([rolled], date(2024, 1, 1)), 6)
    4.0
    """
    if not stays or on <= stays[0].span.since:
        return 0.0
    total = (on - stays[0].span.since).days
    if len(stays) == 1 and not stays[0].stored:
        return total / DAYS_A_YEAR
    slow = sum(_overlap(stored, stay.span, on) for stay in stays for stored in stay.stored)
    slow += sum(_between(one, other, on) for one, other in pairwise(stays))
    return (total - (1 - stored_rate) * slow) / DAYS_A_YEAR


def _overlap(stored: Span, stay: Span, on: date) -> int:
    first = max(stored.since, stay.since)
    last = min(stored.until or on, stay.until or on, on)
    return max((last - first).days, 0)


def _between(one: Stay, other: Stay, on: date) -> int:
    left = one.span.until or other.span.since
    return max((min(other.span.since, on) - left).days, 0)


def chain(piece: int, earlier: Mapping[int, int | None]) -> list[int]:
    """The stays of one piece from the first to this one, by what each continues."""
    stays = [piece]
    while (before := earlier.get(stays[-1])) is not None:
        stays.append(before)
    return stays[::-1]
