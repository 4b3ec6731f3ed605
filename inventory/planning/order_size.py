"""How many to order at a time: the cheapest quantity by ordering, holding and buying.

Rates and costs are per year, in any one money unit. When to order is ``policy``.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from inventory.planning import checks
from inventory.planning.checks import FloatArray, IntArray


@dataclass(frozen=True, slots=True, kw_only=True)
class EconomicQuantity:
    quantity: FloatArray
    cost_per_year: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderSize:
    """Whole quantities and what they cost a year: buying, ordering, holding half an order."""

    quantity: IntArray
    unit_cost: FloatArray
    buying_per_year: FloatArray
    ordering_per_year: FloatArray
    holding_per_year: FloatArray

    @property
    def cost_per_year(self) -> FloatArray:
        return self.buying_per_year + self.ordering_per_year + self.holding_per_year


def economic_quantity(
    *, fixed_cost: ArrayLike, holding_cost: ArrayLike, demand_per_year: ArrayLike
) -> EconomicQuantity:
    """The order quantity at which ordering and holding cost the same.

    Q = sqrt(2 K d / h), cost = sqrt(2 K d h).

    Parameters
    ----------
    fixed_cost : K, money an order
    holding_cost : h, money per piece and year, above 0
    demand_per_year : d, pieces per year

    Returns
    -------
    EconomicQuantity : quantity in pieces (not rounded), cost of ordering and holding per year

    Raises
    ------
    ValueError : a negative cost or demand, a holding cost of 0

    Source: Harris (1913), How many parts to make at once.

    >>> answer = economic_quantity(fixed_cost=8, holding_cost=0.225, demand_per_year=1300)
    >>> answer.quantity.round(2), answer.cost_per_year.round(2)
    (np.float64(304.05), np.float64(68.41))
    """
    fixed = checks.not_negative(fixed_cost, "cost of an order")
    holding = checks.positive(holding_cost, "holding cost")
    demand = checks.not_negative(demand_per_year, "demand per year")
    return EconomicQuantity(
        quantity=np.sqrt(2 * fixed * demand / holding),
        cost_per_year=np.sqrt(2 * fixed * demand * holding),
    )


def order_size(
    *,
    fixed_cost: ArrayLike,
    holding_rate: ArrayLike,
    demand_per_year: ArrayLike,
    from_quantity: ArrayLike,
    unit_cost: ArrayLike,
    pack: ArrayLike = 1,
    minimum: ArrayLike = 1,
) -> OrderSize:
    """The cheapest whole number of packs, with price breaks that hold for all pieces.

    cost(Q) = c(Q) d + K d / Q + i c(Q) Q / 2. Within one price the cost falls to its lowest at
    sqrt(2 K d / (i c)) and then rises, so the cheapest of a price is that point, moved into the
    price's own quantities and rounded to the pack either way; the cheapest of those is the answer.

    Parameters
    ----------
    fixed_cost : K, (n_parts,) or one, money an order
    holding_rate : i, (n_parts,) or one, per year of the unit cost
    demand_per_year : d, (n_parts,) or one, pieces per year
    from_quantity : (n_parts, n_prices) or (n_prices,), ascending, the first at most the minimum;
        a price that does not exist starts at infinity
    unit_cost : (n_parts, n_prices) or (n_prices,), money per piece
    pack : (n_parts,) or one, pieces; the quantity is a multiple of it
    minimum : (n_parts,) or one, pieces

    Returns
    -------
    OrderSize : (n_parts,) arrays

    Raises
    ------
    ValueError : negative amounts, prices not ascending by quantity, a pack or minimum below 1

    Source: Snyder & Shen (2019), Fundamentals of Supply Chain Theory, 2nd ed., section 3.3.

    >>> answer = order_size(
    ...     fixed_cost=8, holding_rate=0.3, demand_per_year=1300,
    ...     from_quantity=[0, 400, 800], unit_cost=[0.75, 0.72, 0.68],
    ... )
    >>> answer.quantity, answer.cost_per_year.round(2)
    (array([800]), array([978.6]))
    """
    start, cost = checked_prices(from_quantity, unit_cost)
    fixed, rate, demand = (
        np.atleast_1d(checks.not_negative(values, name))[:, None]
        for values, name in (
            (fixed_cost, "cost of an order"),
            (holding_rate, "holding rate"),
            (demand_per_year, "demand per year"),
        )
    )
    lot = np.atleast_1d(checks.counts(pack, "pack", least=1))[:, None]
    least = np.atleast_1d(checks.counts(minimum, "minimum", least=1))[:, None]

    first, last = packs_of_prices(start, lot, least)
    best = unbounded_packs(fixed, rate * cost, demand, lot)
    packs = np.stack([np.floor(best), np.ceil(best)], axis=-1)
    packs = np.clip(packs, first[..., None], np.maximum(last, first)[..., None])
    quantity = packs * lot[..., None]
    on_sale = (first <= last)[..., None] & np.isfinite(quantity)
    terms = cost_terms(quantity, fixed, rate, demand, cost)
    total = np.where(on_sale, sum(terms), np.inf)
    return chosen_size(quantity, total, cost, terms)


def checked_prices(from_quantity: ArrayLike, unit_cost: ArrayLike) -> tuple[FloatArray, FloatArray]:
    start = np.atleast_2d(np.asarray(from_quantity, dtype=np.float64))
    cost = np.atleast_2d(checks.not_negative(unit_cost, "unit cost"))
    if start.shape[1] != cost.shape[1]:
        raise ValueError(f"{start.shape[1]} quantities for {cost.shape[1]} unit costs")
    if np.isnan(start).any() or (start[:, 1:] < start[:, :-1]).any():
        raise ValueError("quantities from which a price holds must ascend")
    return start, cost


def packs_of_prices(
    start: FloatArray, lot: IntArray, least: IntArray
) -> tuple[FloatArray, FloatArray]:
    """The first and the last number of packs at each price; first above last: none."""
    first = np.ceil(np.maximum(start, least) / lot)
    next_start = np.concatenate([start[:, 1:], np.full((len(start), 1), np.inf)], axis=1)
    last = np.ceil(next_start / lot) - 1
    return np.broadcast_arrays(first, last)[0], np.broadcast_arrays(first, last)[1]


def unbounded_packs(
    fixed: FloatArray, holding: FloatArray, demand: FloatArray, lot: IntArray
) -> FloatArray:
    """Packs at which ordering and holding balance; free holding would buy a century's worth."""
    years = np.where(holding > 0, 0.0, 100.0) * (fixed > 0)
    balanced = np.sqrt(2 * fixed * demand / np.where(holding > 0, holding, 1.0))
    return np.asarray(np.where(holding > 0, balanced, demand * years) / lot)


def cost_terms(
    quantity: FloatArray, fixed: FloatArray, rate: FloatArray, demand: FloatArray, cost: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    price = cost[..., None]
    buying = np.broadcast_to(price * demand[..., None], quantity.shape)
    ordering = fixed[..., None] * demand[..., None] / quantity
    holding = rate[..., None] * price * quantity / 2
    return buying, ordering, np.asarray(holding)


def chosen_size(
    quantity: FloatArray, total: FloatArray, cost: FloatArray, terms: tuple[FloatArray, ...]
) -> OrderSize:
    n_parts, n_choices = len(total), total[0].size
    best = total.reshape(n_parts, n_choices).argmin(axis=1)
    every = np.arange(n_parts)
    shape = total.shape

    def taken(values: FloatArray) -> FloatArray:
        return np.asarray(np.broadcast_to(values, shape).reshape(n_parts, n_choices)[every, best])

    buying, ordering, holding = (taken(term) for term in terms)
    return OrderSize(
        quantity=taken(quantity).astype(np.int64),
        unit_cost=taken(cost[..., None]),
        buying_per_year=buying,
        ordering_per_year=ordering,
        holding_per_year=holding,
    )
