"""How many to buy before a price rises: what a piece saves against what it costs to keep till used.

Rates are per year, in any one money unit. Whether the shop can wait for them is ``policy``.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from inventory.planning import checks
from inventory.planning.checks import FloatArray, IntArray


@dataclass(frozen=True, slots=True, kw_only=True)
class BuyAhead:
    """Whole packs of pieces beyond what is there, how long the last is kept, what all save."""

    pieces: IntArray
    years_worth: FloatArray
    saving: FloatArray


def buy_ahead(
    *,
    unit_cost: ArrayLike,
    rise: ArrayLike,
    holding_rate: ArrayLike,
    demand_per_year: ArrayLike,
    position: ArrayLike,
    pack: ArrayLike = 1,
    keeps_years: ArrayLike = np.inf,
) -> BuyAhead:
    """Every piece that saves more than it costs to keep until it is used.

    The k-th piece used from now is used after k / d years. Bought now it costs c and i c k / d to
    keep; bought when needed, c + r. It is worth buying while i c k / d < r, so while
    k < d r / (i c), and none is bought that would be too old when used. The pieces that are there
    or coming are used first; what is left is rounded down to whole packs.

    Parameters
    ----------
    unit_cost : c, (n_parts,), money per piece before the rise
    rise : r, (n_parts,), money per piece
    holding_rate : i, (n_parts,) or one, per year of the unit cost
    demand_per_year : d, (n_parts,), pieces per year
    position : (n_parts,), pieces here and coming less those promised; below 0 counts as 0
    pack : (n_parts,) or one, pieces
    keeps_years : (n_parts,) or one, years until a piece is too old

    Returns
    -------
    BuyAhead : (n_parts,) arrays; `years_worth` is r / (i c), or how long it keeps

    Raises
    ------
    ValueError : negative amounts, a unit cost or holding rate of 0, a pack below 1

    Source: computed, from the marginal cost of the k-th piece as above.

    >>> answer = buy_ahead(
    ...     unit_cost=20, rise=1, holding_rate=0.25, demand_per_year=50, position=4,
    ... )
    >>> answer.pieces, answer.years_worth, answer.saving.round(2)
    (array([5]), array([0.2]), array([1.5]))
    """
    cost = np.atleast_1d(checks.positive(unit_cost, "unit cost"))
    rate = np.atleast_1d(checks.positive(holding_rate, "holding rate"))
    more = np.atleast_1d(checks.not_negative(rise, "rise"))
    demand = np.atleast_1d(checks.not_negative(demand_per_year, "demand per year"))
    there = np.maximum(0.0, np.atleast_1d(checks.finite(position, "position")))
    lot = np.atleast_1d(checks.counts(pack, "pack", least=1))
    years = np.minimum(more / (rate * cost), np.atleast_1d(np.asarray(keeps_years, dtype=float)))
    # A piece that just breaks even is left; the last bit of a float must not buy it.
    last = np.ceil(demand * years - 1e-9) - 1
    pieces = np.maximum(0.0, last - there) // lot * lot
    a_year = np.where(demand > 0, demand, 1.0)
    kept = pieces * there + pieces * (pieces + 1) / 2
    saving = pieces * more - rate * cost * kept / a_year
    return BuyAhead(pieces=pieces.astype(np.int64), years_worth=years, saving=saving)
