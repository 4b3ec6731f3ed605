"""The four ratios of a shelf that earns: margin, markup, gross margin return, turns.

Each is one division of two amounts in the same unit. Where the divisor is nothing, the ratio is
not 0 and not infinite; there is none, and the answer is None, shown blank.
"""

from collections.abc import Iterable
from dataclasses import dataclass

DAYS_PER_YEAR = 365


@dataclass(frozen=True, slots=True, kw_only=True)
class MarginAndMarkup:
    """What was earned as a share of the price, and as a share of the cost."""

    margin: float | None
    markup: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class StockTurns:
    """How often a year the stock is sold, and how many days it lies until then."""

    turns: float | None
    days: float | None


def share(part: float, whole: float) -> float | None:
    """A part of a whole as a fraction; None of nothing.

    >>> share(20, 60), share(20, 0)
    (0.3333333333333333, None)
    """
    return part / whole if whole else None


def margin_and_markup(*, price: float, cost: float) -> MarginAndMarkup:
    """What a sale earned, two ways.

    margin = (price − cost)/price; markup = (price − cost)/cost.

    Source: textbook definitions.

    >>> margin_and_markup(price=6000, cost=4000)
    MarginAndMarkup(margin=0.3333333333333333, markup=0.5)
    """
    earned = price - cost
    return MarginAndMarkup(margin=share(earned, price), markup=share(earned, cost))


def gmroi(*, gross_margin: float, mean_stock: float) -> float | None:
    """Gross margin return on the money that lay in the stock: gross margin ÷ mean stock at cost.

    Source: textbook definition.

    >>> round(gmroi(gross_margin=129500, mean_stock=83000), 2)
    1.56
    """
    return share(gross_margin, mean_stock)


def stock_turns(*, cost_of_goods: float, mean_stock: float) -> StockTurns:
    """Turns a year = cost of goods of a year ÷ mean stock at cost; days = 365 ÷ turns.

    Source: textbook definition.

    >>> stock_turns(cost_of_goods=600_000, mean_stock=120_000)
    StockTurns(turns=5.0, days=73.0)
    """
    turns = share(cost_of_goods, mean_stock)
    return StockTurns(turns=turns, days=share(DAYS_PER_YEAR, turns or 0))


def mean_stock(now: int, changes: Iterable[tuple[int, int]], *, days: int) -> float:
    """Mean of what lay in the stock at the close of each of so many days.

    Counted back from now: a change on day d of the span was not there yet at the close of the d
    days before it. now − Σ change · min(max(d, 0), days)/days.

    Parameters
    ----------
    now : the stock today, cents
    changes : (day, cents); day 0 is the first of the span, and all changes since then are there
    days : length of the span

    Raises
    ------
    ValueError
        If the span has no day.

    Source: arithmetic mean of daily closing balances.

    >>> mean_stock(1000, [(0, 100), (1, 200)], days=2)
    900.0
    """
    if days < 1:
        raise ValueError(f"a mean needs at least one day; got {days}")
    return now - sum(cents * min(max(day, 0), days) for day, cents in changes) / days
