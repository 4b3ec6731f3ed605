"""Which lots a quantity comes from, and which cents go with it.

Cents are split so that they always add up: the last piece of a lot takes what is left of it.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from inventory.ledger.models import Lot


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    lot: Lot
    pieces: int
    cents: int


def share_of(cents: int, pieces: int, of_pieces: int) -> int:
    """The cents that go with `pieces` out of `of_pieces` worth `cents`, to the nearest cent.

    >>> share_of(1000, 1, 7), share_of(857, 1, 6), share_of(1000, 7, 7)
    (143, 143, 1000)
    """
    return (cents * pieces + of_pieces // 2) // of_pieces


def split_evenly(cents: int, weights: Sequence[int]) -> list[int]:
    """Cents in proportion to the weights, odd cents to the largest remainders; equal if all are 0.

    >>> split_evenly(100, [1, 1, 1])
    [34, 33, 33]
    >>> split_evenly(100, [0, 0])
    [50, 50]
    """
    weights = list(weights) if any(weights) else [1] * len(weights)
    total = sum(weights)
    shares = [cents * weight // total for weight in weights]
    by_remainder = sorted(range(len(weights)), key=lambda n: (-(cents * weights[n] % total), n))
    for n in by_remainder[: cents - sum(shares)]:
        shares[n] += 1
    return shares


def take_oldest(lots: Iterable[Lot], pieces: int) -> list[Taken]:
    """Take pieces from lots in the order given, changing what the lots have left."""
    taken = []
    for lot in lots:
        if pieces == 0:
            break
        taken.append(take(lot, min(pieces, lot.pieces_left)))
        pieces -= taken[-1].pieces
    return taken


def take(lot: Lot, pieces: int) -> Taken:
    cents = share_of(lot.cents_left, pieces, lot.pieces_left)
    lot.pieces_left -= pieces
    lot.cents_left -= cents
    return Taken(lot=lot, pieces=pieces, cents=cents)
