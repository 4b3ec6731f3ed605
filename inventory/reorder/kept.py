"""How many of each part are kept: what it is planned to, if keeping it is worth it at all."""

from dataclasses import fields, replace
from typing import TYPE_CHECKING, Any, TypeVar

import numpy as np

from inventory.planning.cheapest import cheapest_reorder_point
from inventory.planning.demand import Demand, TableSizes
from inventory.planning.order_size import OrderSize
from inventory.planning.policy import Policy, policy_service, reorder_point
from inventory.reorder.aims import Aims
from inventory.reorder.inputs.facts import DAYS_A_YEAR, Floats, Ints, PlanInputs, Worth

if TYPE_CHECKING:
    from _typeshed import DataclassInstance


def kept_policy(
    facts: PlanInputs,
    demand: Demand,
    table: TableSizes,
    law: Ints,
    offer: Ints,
    size: OrderSize,
    aims: Aims,
) -> tuple[Policy, Floats, Floats]:
    """The policy aimed at, or none of a part that costs more to keep than it saves.

    A goal of the part's own goes before what it saves; of a part that is not worth it no more is
    kept than the goal says. What is kept is ordered again when the shelf is empty, at the latest;
    -1 is for what is not, and for what was superseded.
    Returns the policy and, in cents a year, what keeping to the aim costs and what it saves.
    """
    goals = facts.goals
    wanted = wanted_policy(facts, demand, table, law, size, aims)
    keeping, serving = costs_and_savings(wanted, facts.worth, demand, size.unit_cost)
    aimed = (serving >= keeping) | ~np.isnan(goals.own_target)
    ready = ~np.isnan(goals.own_target) | (goals.at_least > 0)
    kept = (aimed | ready) & ~goals.when_asked & ~facts.superseded
    least = np.maximum(goals.at_least - 1, 0)
    point = np.where(kept, np.where(aimed, np.maximum(wanted.reorder_point, least), least), -1)
    quantity = np.where(kept, size.quantity, facts.offers.least_pieces[offer])
    moved = np.flatnonzero((point != wanted.reorder_point) | (quantity != size.quantity))
    again = policy_service(
        part_of(demand, table, moved),
        facts.interval,
        reorder_point=point[moved],
        order_quantity=quantity[moved],
        law=law[moved],
    )
    policy = with_rows(wanted, moved, again)
    costs, saves = costs_and_savings(policy, facts.worth, demand, size.unit_cost)
    ready &= kept
    return policy, np.where(ready, costs, keeping), np.where(ready, saves, serving)


def costs_and_savings(
    policy: Policy, worth: Worth, demand: Demand, unit_cents: Floats
) -> tuple[Floats, Floats]:
    """Cents a year: holding and counting it, and the misses that it spares."""
    per_ask = demand.sizes.mean * worth.lost_cents + worth.delay_cents
    costs = policy.mean_on_hand * unit_cents * worth.holding_rate + worth.line_cents
    saves = policy.job_fill * demand.asks_per_day * DAYS_A_YEAR * per_ask
    saves = saves + policy.unit_fill * demand.pieces_per_day * DAYS_A_YEAR * worth.rush_cents
    return costs, saves


def wanted_policy(
    facts: PlanInputs,
    demand: Demand,
    table: TableSizes,
    law: Ints,
    size: OrderSize,
    aims: Aims,
) -> Policy:
    """Each part on its own road: the smallest that reaches a target, or the cheapest."""
    if aims.cheapest.any():
        policy = cheapest_policy(facts, demand, law, size, aims)
        rows = np.flatnonzero(~aims.cheapest)
    else:
        policy, rows = None, np.arange(len(law))
    targeted = reorder_point(
        demand if policy is None else part_of(demand, table, rows),
        facts.interval,
        order_quantity=size.quantity[rows],
        target=np.where(np.isnan(aims.target), facts.goals.target, aims.target)[rows],
        law=law[rows],
    )
    return targeted if policy is None else with_rows(policy, rows, targeted)


def cheapest_policy(
    facts: PlanInputs, demand: Demand, law: Ints, size: OrderSize, aims: Aims
) -> Policy:
    """Of all parts; what it says of those that are not planned so does not count."""
    worth = facts.worth
    holding = np.where(aims.cheapest, size.unit_cost * worth.holding_rate / DAYS_A_YEAR, 1.0)
    return cheapest_reorder_point(
        demand,
        facts.interval,
        order_quantity=size.quantity,
        holding_cost=holding,
        ask_cost=demand.sizes.mean * worth.lost_cents + worth.delay_cents,
        piece_cost=worth.rush_cents,
        law=law,
    )


def part_of(demand: Demand, table: TableSizes, rows: Ints) -> Demand:
    return Demand(
        asks_per_day=demand.asks_per_day[rows],
        rate_shape=demand.rate_shape[rows],
        sizes=TableSizes(pmf=table.pmf, table=table.table[rows]),
    )


Arrays = TypeVar("Arrays", bound="DataclassInstance")


def with_rows(whole: Arrays, rows: Ints, other: Arrays) -> Arrays:
    """Arrays with one entry a part, some of their rows taken from others."""
    mixed: dict[str, Any] = {}
    for field in fields(whole):
        values, anew = getattr(whole, field.name), getattr(other, field.name)
        if isinstance(values, np.ndarray):
            mixed[field.name] = values.copy()
            mixed[field.name][rows] = anew
        else:
            mixed[field.name] = with_rows(values, rows, anew)
    return replace(whole, **mixed)
