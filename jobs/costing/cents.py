"""Sharing whole cents out so that nothing is lost, and taking tax out of a price.

Cents in, cents out; fractions in between are exact.
"""

from collections.abc import Sequence
from fractions import Fraction


def rounded_to_total(amounts: Sequence[Fraction]) -> list[int]:
    """Exact amounts as whole cents that still sum to their total, itself rounded half up.

    Largest remainder: all are rounded down, and the cents missing go to those that lost most;
    among equals, to the first.

    >>> rounded_to_total([Fraction(10, 3), Fraction(10, 3), Fraction(10, 3)])
    [4, 3, 3]
    """
    floors = [amount.numerator // amount.denominator for amount in amounts]
    total = sum(amounts, Fraction(0)) + Fraction(1, 2)
    missing = total.numerator // total.denominator - sum(floors)
    by_loss = sorted(range(len(floors)), key=lambda place: floors[place] - amounts[place])
    for place in by_loss[:missing]:
        floors[place] += 1
    return floors


def shared_out(cents: int, weights: Sequence[int]) -> list[int]:
    """An amount spread over jobs by weight, to the cent; equally where no weight is above 0.

    Raises
    ------
    ValueError
        If a weight is negative, or there is nothing to share among.

    >>> shared_out(1000, [1, 1, 1])
    [334, 333, 333]
    """
    if not weights:
        raise ValueError(f"{cents} cents cannot be shared out among nobody")
    if min(weights) < 0:
        raise ValueError(f"a share cannot weigh less than 0; got {min(weights)}")
    whole = sum(weights)
    if whole == 0:
        weights, whole = [1] * len(weights), len(weights)
    return rounded_to_total([Fraction(cents * weight, whole) for weight in weights])


def for_days(yearly_cents: int, days: int) -> int:
    """What a yearly amount comes to over so many days, at 365 to the year; rounded half up.

    >>> for_days(36500, 30)
    3000
    """
    year = 365
    return (2 * yearly_cents * days + year) // (2 * year)


def net_of_tax(price_cents: int, tax_per_mille: int) -> int:
    """A price entered with tax, without it, rounded half up.

    price × 1000 / (1000 + tax).

    >>> net_of_tax(11900, 190)
    10000
    """
    gross = 1000 + tax_per_mille
    return (2000 * price_cents + gross) // (2 * gross)


def with_tax(net_cents: int, tax_per_mille: int) -> int:
    """The lowest price, entered with tax, that leaves so much: net × (1000 + tax)/1000, rounded up.

    >>> with_tax(10000, 190), net_of_tax(11900, 190)
    (11900, 10000)
    """
    return -(-net_cents * (1000 + tax_per_mille) // 1000)
