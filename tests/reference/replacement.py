"""Adapters for lifetimes and what they advise: a vector's years and amounts in, our answer out."""

from typing import Any

import numpy as np

from jobs.replacement import costs, siblings, visits, weibull
from jobs.replacement.actions import ACTIONS, PARTS
from jobs.replacement.lives import Event, Life, Lives
from jobs.replacement.posterior import posterior, posterior_mode
from jobs.replacement.priors import Prior

Answer = dict[str, Any]
Law = dict[str, float]

# Says nothing over any life a vector could hold.
_FLAT = Prior(mean_log_scale=0.0, sd_log_scale=50.0, mean_log_shape=0.0, sd_log_shape=50.0)


def weibull_mode(*, exit: list[float], event: list[int], entry: list[float] | None) -> Answer:
    entries = entry or [0.0] * len(exit)
    lives = Lives.of(
        Life(exit=left, entry=came, event=Event.FAILED if failed else Event.ALIVE)
        for left, came, failed in zip(exit, entries, event, strict=True)
    )
    scale, shape = posterior_mode(lives, _FLAT)
    return {"scale": scale, "shape": shape}


def chance_of_failure(*, scale: float, shape: float, age: float, horizon: float) -> Answer:
    chance = weibull.chance_of_failure(age, horizon, scale=scale, shape=shape)
    return {"chance": float(chance)}


def life_posterior(
    *, prior: dict[str, float], records: list[dict[str, Any]], age: float, horizon: float
) -> Answer:
    lives = Lives.of(Life(**{**record, "event": Event(record["event"])}) for record in records)
    chance = posterior(lives, Prior(**prior)).chance(age, horizon)
    return {"chance": chance.mean, "low90": chance.low90, "high90": chance.high90}


def replacement_costs(
    *,
    horizon: float,
    body: Law,
    stem: Law,
    seal: Law,
    price: dict[str, float],
    return_visit_labour: float,
) -> Answer:
    laws = (body, stem, seal)
    kept = [_chance(law, law["age"], horizon) for law in laws]
    new = [_chance(law, 0.0, horizon) for law in laws]
    prices = {"leave": 0.0} | price
    sold_as = {"body": "body", "stem": "stem", "seal": "reseal"}
    cost = costs.expected_costs(
        [prices[action] for action in ACTIONS],
        chance_kept=kept,
        chance_new=new,
        loss=[return_visit_labour + price[sold_as[part]] for part in PARTS],
    )
    cheapest = ACTIONS[int(np.argmin(cost))]
    return {
        "cost": dict(zip((str(action) for action in ACTIONS), cost.tolist(), strict=True)),
        "cheapest": str(cheapest),
    }


def break_even_age(
    *, h: float, eta: float, beta: float, price: float, failure_cost: float
) -> Answer:
    age = weibull.break_even_age(h, scale=eta, shape=beta, price=price, failure_cost=failure_cost)
    return {"age": age}


def sibling_replacement(
    *,
    age: float,
    h_to_tire_change: float,
    eta: float,
    beta: float,
    setup: float,
    dismount: float,
    part: float,
    horizons: int,
    later_horizon: float,
) -> Answer:
    answer = siblings.sibling_replacement(
        age,
        scale=eta,
        shape=beta,
        prices=siblings.SiblingPrices(setup=setup, dismount=dismount, part=part),
        to_tire_change=h_to_tire_change,
        later_horizon=later_horizon,
        horizons=horizons,
    )
    return {
        "choose": str(answer.choose),
        "cost_now": answer.cost_now,
        "cost_wait": answer.cost_wait,
    }


def visits_ahead(
    *,
    visits_left: int,
    years_between: float,
    body: Law,
    stem: Law,
    price: dict[str, float],
    return_visit_labour: float,
) -> Answer:
    actions = ("reseal", "body", "stem", "assembly")
    cost = visits.costs_over_visits(
        _ahead(body, visits_left, years_between, return_visit_labour + price["body"]),
        _ahead(stem, visits_left, years_between, return_visit_labour + price["stem"]),
        np.array([[price[action] for action in actions]]),
        visits=visits_left,
    )[0]
    best = int(np.argmin(cost))
    return {"cheapest": actions[best], "cost": float(cost[best])}


def _chance(law: Law, age: Any, horizon: float) -> Any:
    return weibull.chance_of_failure(age, horizon, scale=law["scale"], shape=law["shape"])


def _ahead(law: Law, visits_left: int, years: float, loss: float) -> visits.PartAhead:
    own = law["age"] + years * np.arange(visits_left)
    renewed = years * visits.half_stretches(visits_left)
    return visits.PartAhead(
        own=_chance(law, own, years)[None, :],
        renewed=_chance(law, renewed, years)[None, :],
        loss=np.array([loss]),
    )


KINDS = {
    kind.__name__: kind
    for kind in (
        weibull_mode,
        chance_of_failure,
        life_posterior,
        replacement_costs,
        break_even_age,
        sibling_replacement,
        visits_ahead,
    )
}
