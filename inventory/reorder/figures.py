"""From the facts of all part-sites to what to order: arrays in, arrays out, no database.

The laws and the optimum are the planning arithmetic's; this module only chains them: rate of asks,
offer and order quantity, reorder point, and how many packs lift the position above it.
"""

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from inventory.planning.demand import Demand, TableSizes
from inventory.planning.order_size import OrderSize, order_size
from inventory.planning.policy import Policy
from inventory.planning.usage import (
    RateLaw,
    Usage,
    prior_from_expected,
    rate_posterior,
    season_weights,
    size_chances,
    usage,
)
from inventory.reorder.aims import Aims, aims_of
from inventory.reorder.inputs.facts import (
    DAYS_A_YEAR,
    WEEKS_A_YEAR,
    Floats,
    History,
    Ints,
    PlanInputs,
)
from inventory.reorder.kept import kept_policy, part_of, with_rows
from inventory.reorder.sent_on import sent_on, with_sent_on

THIN_ASKS = 6
"""Below so many asks in the history, what the vehicles lead us to expect stands before usage."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanFigures:
    """One entry a part-site; `offer` is a row of the offers, `law` one of the interval laws.

    `sent_per_week` are the asks in which a part stands in for others, `sends_per_week` those in
    which another stands in for it.
    """

    usage: Usage
    season: Floats
    sizes: Floats
    asks_per_week: Floats
    sent_per_week: Floats
    sends_per_week: Floats
    rate_shape: Floats
    size_mean: Floats
    offer: Ints
    law: Ints
    lead_days: Floats
    unit_cost_cents: Floats
    aims: Aims
    policy: Policy
    keeping_cents: Floats
    serving_cents: Floats
    pack: Ints
    packs: Ints


def plan_figures(facts: PlanInputs) -> PlanFigures:
    """Universal parts are planned twice: for their own asks, then with what others send on."""
    learned, season = learned_usage(facts.history)
    table = TableSizes.of(size_chances(facts.history.asks_by_size, kind=facts.history.kind))
    # What was superseded is asked for in the newer part's name.
    rate = learned.rate.mean_rate * season * ~facts.superseded
    demand = Demand.of(rate, table, rate_shape=learned.rate.shape)
    planned = planned_shelves(facts, demand, table)
    sent_per_day, sends_per_day = np.zeros(len(rate)), np.zeros(len(rate))
    if sent := sent_on(facts, demand, table, planned.law, planned.policy):
        sent_per_day[sent.rows] = sent.asks_per_day
        sends_per_day[sent.senders] = sent.sends_per_day
        demand, table = with_sent_on(demand, table, sent)
        planned = planned_again(facts, demand, table, planned, sent.rows)
    offer, policy, pack = planned.offer, planned.policy, facts.offers.pack[planned.offer]
    return PlanFigures(
        usage=learned,
        season=season,
        sizes=table.pmf[table.table],
        asks_per_week=demand.asks_per_day * 7,
        sent_per_week=sent_per_day * 7,
        sends_per_week=sends_per_day * 7,
        rate_shape=demand.rate_shape,
        size_mean=demand.sizes.mean,
        offer=offer,
        law=planned.law,
        lead_days=facts.interval.mean_days[planned.law],
        unit_cost_cents=planned.unit_cost_cents,
        aims=planned.aims,
        policy=policy,
        keeping_cents=planned.keeping_cents,
        serving_cents=planned.serving_cents,
        pack=pack,
        packs=packs_above(facts.stock.position, policy.reorder_point, policy.order_quantity, pack),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """One entry a part-site: from whom to buy, what is aimed at, and what is kept for it."""

    offer: Ints
    law: Ints
    unit_cost_cents: Floats
    aims: Aims
    policy: Policy
    keeping_cents: Floats
    serving_cents: Floats


def planned_shelves(
    facts: PlanInputs, demand: Demand, table: TableSizes, aims: Aims | None = None
) -> Planned:
    offer, size = cheapest_offer(facts, demand.pieces_per_day * DAYS_A_YEAR)
    law = facts.offers.supplier[offer]
    aims = aims or aims_of(facts, demand, size.unit_cost)
    policy, keeping, serving = kept_policy(facts, demand, table, law, offer, size, aims)
    return Planned(
        offer=offer,
        law=law,
        unit_cost_cents=size.unit_cost,
        aims=aims,
        policy=policy,
        keeping_cents=keeping,
        serving_cents=serving,
    )


def planned_again(
    facts: PlanInputs, demand: Demand, table: TableSizes, before: Planned, rows: Ints
) -> Planned:
    """Some rows planned anew for another demand; their class is weighed among all parts again."""
    aims = aims_of(facts, demand, before.unit_cost_cents)
    some = Aims(**{f.name: getattr(aims, f.name)[rows] for f in fields(aims)})
    part = TableSizes(pmf=table.pmf, table=table.table[rows])
    anew = planned_shelves(facts.of_rows(rows), part_of(demand, table, rows), part, some)
    return with_rows(before, rows, anew)


def packs_above(position: Ints, point: Ints, quantity: Ints, pack: Ints) -> Ints:
    """Packs that lift a position at or below the reorder point above it, in whole quantities."""
    missing = np.maximum(point + 1 - position, 0)
    return np.asarray(-(-missing // quantity) * quantity // pack)


def learned_usage(history: History) -> tuple[Usage, Floats]:
    """The rate of asks of each part-site, and how busy the coming weeks are beside the average."""
    weights = kind_seasons(history)
    learned = usage(
        history.occasions,
        history.exposure_days,
        group=history.group,
        season=weights[history.kind][:, history.week_of_year],
        half_life_weeks=history.half_life_weeks,
    )
    known = leans_on_vehicles(history)
    if known.any():
        prior = prior_with_expected(learned.prior, history, known)
        learned = Usage(
            prior=prior,
            occasions=learned.occasions,
            exposure_days=learned.exposure_days,
            rate=rate_posterior(
                prior, occasions=learned.occasions, exposure_days=learned.exposure_days
            ),
        )
    return learned, weights[history.kind, history.coming_week]


def leans_on_vehicles(history: History) -> NDArray[np.bool_]:
    """Rows of which so little was asked for that what the vehicles promise stands before it."""
    return np.asarray((history.expected_mean > 0) & (history.occasions.sum(axis=1) < THIN_ASKS))


def prior_with_expected(prior: RateLaw, history: History, known: NDArray[np.bool_]) -> RateLaw:
    """What the vehicles lead us to expect, in place of the group's law where history is thin."""
    expected = prior_from_expected(
        history.expected_mean[known],
        history.expected_variance[known],
        days=history.expected_days,
    )
    shape, exposure = prior.shape.copy(), prior.exposure_days.copy()
    shape[known], exposure[known] = expected.shape, expected.exposure_days
    return RateLaw(shape=shape, exposure_days=exposure)


def kind_seasons(history: History) -> Floats:
    """Weights of the weeks of the year, pooled by kind of part."""
    kinds = np.arange(int(history.kind.max(initial=0)) + 1)
    member = (history.kind == kinds[:, None]).astype(np.float64)
    asks, days = member @ history.occasions, member @ history.exposure_days
    return season_weights(
        asks, days, week_of_year=history.week_of_year, n_weeks_of_year=WEEKS_A_YEAR
    )


def cheapest_offer(facts: PlanInputs, pieces_per_year: Floats) -> tuple[Ints, OrderSize]:
    """For each part-site the offer whose year of buying, ordering and holding costs least."""
    offers = facts.offers
    row = np.repeat(np.arange(len(facts.offer_count)), facts.offer_count)
    within = np.arange(len(row)) - np.repeat(
        facts.offer_count.cumsum() - facts.offer_count, facts.offer_count
    )
    offer = facts.first_offer[row] + within
    sized = order_size(
        fixed_cost=offers.fixed_cents[offer],
        holding_rate=facts.worth.holding_rate,
        demand_per_year=pieces_per_year[row],
        from_quantity=offers.from_pieces[offer],
        unit_cost=offers.unit_cents[offer],
        pack=offers.pack[offer],
        minimum=offers.least_pieces[offer],
    )
    by_cost = np.lexsort((offer, sized.cost_per_year, row))
    best = by_cost[np.unique(row[by_cost], return_index=True)[1]]
    chosen = {f.name: getattr(sized, f.name)[best] for f in fields(sized)}
    return offer[best], OrderSize(**chosen)
