"""Selling prices from costs: at a target margin, or by bands of cost.

What a band *would have* earned on past jobs assumes the same jobs at other prices; how many
customers would have said no is not in it.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceBand:
    """Parts that cost up to so many cents (None: any) are priced at cost × (1 + markup)."""

    up_to_cents: int | None
    markup_percent: int


def price_at_margin(cost_cents: int, *, margin_percent: int) -> int:
    """The lowest price that earns a margin: cost ÷ (1 − margin), up to the next cent.

    Raises
    ------
    ValueError
        If the margin is not below 100 percent.

    >>> price_at_margin(4000, margin_percent=40)
    6667
    """
    if margin_percent >= 100:
        raise ValueError(f"no price earns a margin of {margin_percent} %; ask for less than 100")
    return -(-cost_cents * 100 // (100 - margin_percent))


def banded_price(cost_cents: int, bands: Sequence[PriceBand]) -> int:
    """The price of the first band, by rising cost, that a cost falls into; up to the next cent.

    Raises
    ------
    ValueError
        If the cost lies above the last band.

    >>> banded_price(450, [PriceBand(up_to_cents=500, markup_percent=150),
    ...                    PriceBand(up_to_cents=None, markup_percent=60)])
    1125
    """
    for band in sorted(bands, key=_by_cost):
        if band.up_to_cents is None or cost_cents <= band.up_to_cents:
            return -(-cost_cents * (100 + band.markup_percent) // 100)
    raise ValueError(f"no band covers a cost of {cost_cents} cents; leave the last one open")


def _by_cost(band: PriceBand) -> tuple[bool, int]:
    return band.up_to_cents is None, band.up_to_cents or 0


def banded_margin(sold: Iterable[tuple[int, int]], bands: Sequence[PriceBand]) -> int:
    """Cents that pieces sold in the past would have earned at the bands' prices.

    sold : (pieces, cost of one in cents) of each sale

    >>> banded_margin([(4, 450)], [PriceBand(up_to_cents=None, markup_percent=100)])
    1800
    """
    return sum(pieces * (banded_price(cost, bands) - cost) for pieces, cost in sold)
