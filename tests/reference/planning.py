"""Adapters for planning: a vector's inputs in, the project's own answer out."""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from inventory.planning import budget as budgets
from inventory.planning import demand as demands
from inventory.planning import order_size as sizes_of_orders
from inventory.planning import policy as policies
from inventory.planning import range_cover
from inventory.planning import usage as usages
from inventory.planning.demand import Demand, TableSizes
from inventory.planning.interval import Interval

Answer = dict[str, Any]
POINTS = 21


def economic_order_quantity(
    *, fixed_cost: float, holding_cost: float, demand_rate: float
) -> Answer:
    answer = sizes_of_orders.economic_quantity(
        fixed_cost=fixed_cost, holding_cost=holding_cost, demand_per_year=demand_rate
    )
    return {"quantity": float(answer.quantity), "cost_per_year": float(answer.cost_per_year)}


def order_quantity_with_breaks(
    *,
    fixed_cost: float,
    holding_rate: float,
    demand_rate: float,
    breakpoints: Sequence[float],
    unit_costs: Sequence[float],
    pack: int,
    minimum: int,
) -> Answer:
    answer = sizes_of_orders.order_size(
        fixed_cost=fixed_cost,
        holding_rate=holding_rate,
        demand_per_year=demand_rate,
        from_quantity=breakpoints,
        unit_cost=unit_costs,
        pack=pack,
        minimum=minimum,
    )
    return {
        "quantity": int(answer.quantity[0]),
        "cost_per_year": float(answer.cost_per_year[0]),
    }


def total_demand_pmf(
    *, occasions: Mapping[str, Any], sizes_from_0: Sequence[float], points: int = POINTS
) -> Answer:
    if occasions["law"] == "poisson":
        mean, shape = occasions["mean"], np.inf
    else:
        mean, shape = occasions["r"] * occasions["beta"], occasions["r"]
    asks = Demand.of([mean], TableSizes.of(sizes_from_0), rate_shape=shape)
    return _law(demands.interval_demand(asks, Interval.of([1.0]), points=points))


def lead_time_demand_pmf(
    *,
    job_rate_per_day: float,
    lead_time_days_pmf: Mapping[str, float],
    sizes_from_0: Sequence[float],
    points: int = POINTS,
) -> Answer:
    asks = Demand.of([job_rate_per_day], TableSizes.of(sizes_from_0))
    interval = Interval.from_days(lead_time_days_pmf)
    return _law(demands.interval_demand(asks, interval, points=points))


def _law(law: demands.DemandLaw) -> Answer:
    return {
        "pmf_from_0": law.pmf_from_0[0].tolist(),
        "mean": float(law.mean[0]),
        "variance": float(law.variance[0]),
    }


def policy_service(*, reorder_point: int, order_quantity: int, **inputs: Any) -> Answer:
    found = policies.policy_service(
        *_demand_and_interval(**inputs),
        reorder_point=reorder_point,
        order_quantity=order_quantity,
    )
    figures = ("ready_rate", "unit_fill", "job_fill", "mean_on_hand", "mean_backorders")
    return {figure: float(getattr(found, figure)[0]) for figure in figures}


def reorder_point(
    *, order_quantity: int, measure: policies.Measure, target: float, **inputs: Any
) -> Answer:
    found = policies.reorder_point(
        *_demand_and_interval(**inputs),
        order_quantity=order_quantity,
        measure=measure,
        target=target,
    )
    return {"reorder_point": int(found.reorder_point[0])}


def _demand_and_interval(
    *,
    job_rate_per_day: float,
    sizes_from_0: Sequence[float],
    lead_time_days: float | None = None,
    lead_time_days_pmf: Mapping[str, float] | None = None,
    review_days: float = 0.0,
) -> tuple[Demand, Interval]:
    days = lead_time_days_pmf or {str(lead_time_days): 1.0}
    asks = Demand.of([job_rate_per_day], TableSizes.of(sizes_from_0))
    return asks, Interval.from_days(days, review_days=review_days)


def usage_posterior(
    *,
    prior_shape: float,
    prior_exposure: float,
    occasions: float,
    exposure: float,
    horizon: float,
) -> Answer:
    prior = usages.RateLaw(shape=np.array([prior_shape]), exposure_days=np.array([prior_exposure]))
    rate = usages.rate_posterior(prior, occasions=[occasions], exposure_days=[exposure])
    coming = usages.prediction(rate, horizon)
    return {
        "mean_rate": float(rate.mean_rate[0]),
        "predictive_mean": float(coming.mean[0]),
        "predictive_variance": float(coming.variance[0]),
        "predictive_zero": float(coming.chance_of_none[0]),
    }


def spend_budget(*, items: Mapping[str, Mapping[str, float]], budget: float) -> Answer:
    """A stock of s pieces from zero is a reorder point of s - 1 with single pieces, lead time 1."""
    cost = np.array([item["cost"] for item in items.values()])
    pipeline = [item["pipeline"] for item in items.values()]
    asks = Demand.of(pipeline, TableSizes.of([0, 1.0], table=[0] * len(pipeline)))
    levels = 1 + int(budget // cost.min())
    served = policies.service_levels(asks, Interval.of([1.0]), order_quantity=1, levels=levels)
    steps = budgets.ladder(np.multiply.outer(cost, np.arange(levels)), -served.mean_backorders)
    plan = budgets.budget_plan(steps, budget=budget, seconds=10)
    return {
        "expected_backorders": -plan.worth,
        "pieces": dict(zip(items, plan.level.tolist(), strict=True)),
    }


def smallest_range(
    *, weights: Sequence[float], parts: Mapping[str, Sequence[int]], share: float
) -> Answer:
    found = range_cover.smallest_range(weights, parts, share=share)
    return {"parts_needed": len(found.parts), "parts": list(found.parts)}


def widest_cover(
    *, weights: Sequence[float], parts: Mapping[str, Sequence[int]], parts_allowed: int
) -> Answer:
    found = range_cover.widest_cover(weights, parts, parts_allowed=parts_allowed)
    return {"covered_weight": found.covered_weight, "parts": list(found.parts)}


KINDS = {
    kind.__name__: kind
    for kind in (
        economic_order_quantity,
        order_quantity_with_breaks,
        total_demand_pmf,
        lead_time_demand_pmf,
        policy_service,
        reorder_point,
        usage_posterior,
        spend_budget,
        smallest_range,
        widest_cover,
    )
}
