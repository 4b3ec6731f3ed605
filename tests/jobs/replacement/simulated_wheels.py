"""Seeded wheels in worlds with a known truth: what advice costs against the best there is.

The tests run it in short form, the bench in full. Costs under the truth come from the true law or
from living through the years; the advice sees only records.
"""

import numpy as np

from jobs.replacement.actions import ACTIONS, MAKES_NEW, PARTS, Action
from jobs.replacement.advice import Advice, advice_for
from jobs.replacement.costs import expected_costs
from jobs.replacement.lives import NO_LIVES
from jobs.replacement.posterior import Draws, posterior
from jobs.replacement.priors import DEFAULT_PRIORS
from jobs.replacement.siblings import SiblingChoice, SiblingPrices, sibling_replacement
from jobs.replacement.weibull import chance_of_failure
from jobs.replacement.wheel import Amounts, LabourAmounts, Part, PartAmounts, Policy, Wheel
from tests.jobs.replacement.cast import clamp_in
from tests.jobs.replacement.simulated_lives import lives_of, true_law

FAMILIES = {"body": "body", "stem": "metal_stem", "seal": "seal"}


def true_laws(rng):
    """One law a part, as likely as the default priors say."""
    return {part: true_law(DEFAULT_PRIORS[family], rng) for part, family in FAMILIES.items()}


def known(law, count=128):
    """A posterior that is certain."""
    scale, shape = law
    return Draws(log_scale=np.full(count, np.log(scale)), log_shape=np.full(count, np.log(shape)))


def learned(laws, records, rng, *, unknown=PARTS):
    """What so many records of each family teach of its true law; the others' are known."""
    told = {part: known(law) for part, law in laws.items()}
    for part in unknown:
        family = FAMILIES[part]
        scale, shape = laws[part]
        lives = lives_of(scale, shape, records, rng) if records else NO_LIVES
        told[part] = posterior(lives, DEFAULT_PRIORS[family]).draws()
    return told


def random_wheel(rng, draws) -> Wheel:
    """A two-piece clamp-in with prices, ages and outlook as they come."""
    body, stem, kit = (int(cents) for cents in rng.uniform([2900, 700, 200], [7000, 1500, 700]))
    parts = PartAmounts(
        reseal=kit,
        body=body + kit,
        stem=stem + kit,
        assembly=int((body + stem) * rng.uniform(0.92, 1.0)) + kit,
    )
    labour = LabourAmounts(
        dismount=int(rng.uniform(0, 2500)), return_visit=int(rng.uniform(2000, 7000))
    )
    body_age = float(rng.uniform(0, 10))
    stem_age = body_age * float(rng.choice([1.0, rng.random()]))
    ages = {"body": body_age, "stem": stem_age, "seal": stem_age * float(rng.random())}
    return clamp_in(
        **{part: Part(age_years=ages[part], laws=draws[part]) for part in PARTS},
        prices=Amounts(parts=parts, labour=labour),
        years_to_tire_change=float(rng.uniform(1, 4)),
        tire_off=bool(rng.random() < 0.5),
    )


def living_wheel(rng, draws, laws) -> Wheel:
    """A random wheel whose parts are as old as parts under their true laws get to be."""
    while True:
        wheel = random_wheel(rng, draws)
        hazards = [(getattr(wheel, p).age_years / laws[p][0]) ** laws[p][1] for p in PARTS]
        if rng.random() < np.exp(-sum(hazards)):
            return wheel


def true_costs(advice: Advice, laws):
    """(5,) cents each action costs under the true laws; infinite where it is ruled out."""
    wheel = advice.wheel
    kept, new = (
        [_chance(wheel, part, laws[part], age_factor) for part in PARTS] for age_factor in (1, 0)
    )
    price = [row.price_now_cents for row in advice.rows]
    costs = expected_costs(price, chance_kept=kept, chance_new=new, loss=_losses(wheel))
    return np.where([bool(row.masked) for row in advice.rows], np.inf, costs)


def _chance(wheel, part, law, age_factor):
    age, (scale, shape) = getattr(wheel, part).age_years * age_factor, law
    return float(chance_of_failure(age, wheel.years_to_tire_change, scale=scale, shape=shape))


def _losses(wheel):
    parts, visit = wheel.prices.parts, wheel.prices.labour.return_visit
    return [visit + parts.body, visit + parts.stem, visit + parts.reseal]


def regret(records, worlds, rng, *, wheels=12, unknown=PARTS):
    """How much dearer the advised actions are than the best ones, the truth being known."""
    advised = best = 0.0
    for _ in range(worlds):
        laws = true_laws(rng)
        draws = learned(laws, records, rng, unknown=unknown)
        for answer in advice_for([living_wheel(rng, draws, laws) for _ in range(wheels)], Policy()):
            costs = true_costs(answer, laws)
            advised += costs[ACTIONS.index(answer.action or Action.LEAVE)]
            best += costs.min()
    return advised / best - 1


def simulated_costs(advice: Advice, laws, rng, *, roads=4000):
    """(5, roads) cents: each action lived through until the tire change, failures renewed.

    Every failure is paid for, also a second one of the same part. All actions meet the same luck.
    """
    wheel, losses = advice.wheel, _losses(advice.wheel)
    costs = np.tile([[float(row.price_now_cents)] for row in advice.rows], (1, roads))
    for column, part in enumerate(PARTS):
        luck = rng.exponential(size=(3, roads))
        for row in range(len(ACTIONS)):
            age = 0.0 if MAKES_NEW[row, column] else getattr(wheel, part).age_years
            failures = _failures(age, wheel.years_to_tire_change, laws[part], luck)
            costs[row] += losses[column] * failures
    return costs


def _failures(age, horizon, law, luck):
    """(roads,) failures within a horizon, the part replaced at each."""
    scale, shape = law
    count, clock = np.zeros(luck.shape[1]), np.zeros(luck.shape[1])
    hazard = (age / scale) ** shape
    for exponential in luck:
        life = scale * (hazard + exponential) ** (1 / shape) - age
        clock = clock + life
        count += clock < horizon
        age, hazard = 0.0, 0.0
    return count


def share_of_best(cases, rng, *, roads=4000):
    """Share of random wheels, the law known, whose advice the simulation cannot better by 1 %."""
    right = 0
    for _ in range(cases):
        laws = true_laws(rng)
        draws = {part: known(law) for part, law in laws.items()}
        (answer,) = advice_for([random_wheel(rng, draws)], Policy())
        costs = simulated_costs(answer, laws, rng, roads=roads)
        costs = costs[[not row.masked for row in answer.rows]]
        allowed = [row.action for row in answer.rows if not row.masked]
        chosen = costs[allowed.index(answer.action or Action.LEAVE)]
        means = costs.mean(axis=1)
        gap = chosen - costs[means.argmin()]
        error = 2 * gap.std() / np.sqrt(roads)
        right += gap.mean() <= max(0.01 * means.min(), error)
    return right / cases


WEEK = 1 / 52


def sibling_week_by_week(age, scale, shape, prices, lengths):
    """Cost of replacing a good sibling's body now, and of waiting, on a calendar of weeks.

    A body that fails in a week is replaced in it and is half a week old at its end.
    """
    weeks = [round(length / WEEK) for length in lengths]
    ages = WEEK * np.arange(sum(weeks) + round(age / WEEK) + 2)
    fails = chance_of_failure(ages, WEEK, scale=scale, shape=shape)
    value = np.zeros(len(ages))
    for place in reversed(range(len(weeks))):
        for _ in range(weeks[place]):
            renewed = prices.failure + (value[0] + value[1]) / 2
            older = np.append(value[1:], value[-1])
            value = (1 - fails) * older + fails * renewed
        if place:
            value = np.minimum(value, prices.part + value[0])
    now = prices.dismount + prices.part + value[0]
    return float(now), float(value[round(age / WEEK)])


def share_of_right_siblings(cases, rng):
    """Share of random siblings whose decision the weekly calendar cannot better by 1 %."""
    right = 0
    for _ in range(cases):
        scale, shape = true_law(DEFAULT_PRIORS["body"], rng)
        prices = SiblingPrices(
            setup=float(rng.uniform(15, 60)),
            dismount=float(rng.uniform(10, 35)),
            part=float(rng.uniform(29, 70)),
        )
        age, horizons = float(rng.uniform(0, 10)), int(rng.integers(1, 4))
        lengths = [float(rng.uniform(0.5, 4))] + [4.0] * (horizons - 1)
        answer = sibling_replacement(
            age,
            scale=scale,
            shape=shape,
            prices=prices,
            to_tire_change=lengths[0],
            later_horizon=4.0,
            horizons=horizons,
        )
        now, wait = sibling_week_by_week(age, scale, shape, prices, lengths)
        chosen = now if answer.choose is SiblingChoice.NOW else wait
        right += chosen <= 1.01 * min(now, wait)
    return right / cases


def regret_of_always(worlds, rng, *, wheels=12):
    """The same for two habits: the whole assembly each time, and the body only each time."""
    habits = {Action.ASSEMBLY: 0.0, Action.BODY: 0.0}
    best = 0.0
    for _ in range(worlds):
        laws = true_laws(rng)
        draws = {part: known(law) for part, law in laws.items()}
        living = [living_wheel(rng, draws, laws) for _ in range(wheels)]
        for answer in advice_for(living, Policy()):
            costs = true_costs(answer, laws)
            best += costs.min()
            for habit in habits:
                habits[habit] += costs[ACTIONS.index(habit)]
    return {habit: cost / best - 1 for habit, cost in habits.items()}
