"""Seeded worlds with a known truth: lives as a shop gets to see them, and lots that are bad.

What the arithmetic says is held against what then happens. The tests run it in short form, the
bench in full; nothing here uses what it tests to make the truth.
"""

import numpy as np

from jobs.replacement.lives import Lives
from jobs.replacement.lots import lot_watch
from jobs.replacement.posterior import Draws, posterior
from jobs.replacement.priors import DEFAULT_PRIORS, Prior
from jobs.replacement.weibull import chance_of_failure


def true_law(prior: Prior, rng: np.random.Generator):
    """Scale and shape of one world, as likely as the prior says."""
    return (
        float(np.exp(rng.normal(prior.mean_log_scale, prior.sd_log_scale))),
        float(np.exp(rng.normal(prior.mean_log_shape, prior.sd_log_shape))),
    )


def lives_of(scale, shape, count, rng):
    """Records as a shop gets them: some seen from new, some later, watched for some years.

    A third of the failures are only found at a visit, up to a year after the part was last good.
    """
    entry = np.where(rng.random(count) < 0.4, rng.uniform(0, 5, count), 0.0)
    life = _lived_past(entry, scale, shape, rng)
    until = entry + rng.uniform(0.5, 8, count)
    failed = life < until
    late = failed & (rng.random(count) < 1 / 3)
    good = np.maximum(entry, life - rng.uniform(0.05, 1, count))
    found_at = np.maximum(life, np.minimum(life + rng.uniform(0.05, 1, count), until))
    return Lives(
        entry=entry,
        last_good=good,
        exit=np.where(late, found_at, np.minimum(life, until)),
        failed=failed & ~late,
        found=late,
    )


def _lived_past(entry, scale, shape, rng):
    """Lives of parts that were still alive when they were first seen."""
    hazard = (entry / scale) ** shape + rng.exponential(size=len(entry))
    return scale * hazard ** (1 / shape)


def coverage(records, worlds, rng):
    """Share of worlds in which the 90 % band holds the true chance at a random age."""
    held = 0
    for _ in range(worlds):
        prior = DEFAULT_PRIORS[str(rng.choice(sorted(DEFAULT_PRIORS)))]
        scale, shape = true_law(prior, rng)
        told = posterior(lives_of(scale, shape, records, rng), prior)
        age, horizon = float(rng.uniform(0, 9)), float(rng.uniform(1, 4))
        chance = told.chance(age, horizon)
        truth = float(chance_of_failure(age, horizon, scale=scale, shape=shape))
        held += chance.low90 <= truth <= chance.high90
    return held / worlds


def calibration_error(records, worlds, rng, *, parts=20, bins=5):
    """Mean gap between what was said and what happened, over equal bins of what was said."""
    said, happened = [], []
    for _ in range(worlds):
        prior = DEFAULT_PRIORS["body"]
        scale, shape = true_law(prior, rng)
        laws = posterior(lives_of(scale, shape, records, rng), prior).draws()
        ages = rng.uniform(0, 9, parts)
        by_law = chance_of_failure(ages[:, None], 3.0, scale=laws.scale, shape=laws.shape)
        said.append(by_law.mean(axis=1))
        truth = chance_of_failure(ages, 3.0, scale=scale, shape=shape)
        happened.append(rng.random(parts) < truth)
    told, came = np.concatenate(said), np.concatenate(happened)
    groups = np.array_split(np.argsort(told), bins)
    return float(np.mean([abs(told[group].mean() - came[group].mean()) for group in groups]))


def failures_until_alarm(multiple, *, lots, failures, rng, laws=None):
    """(lots,) failures a lot has had when it alarms, its hazard a multiple of its family's.

    The lot is looked at after each failure; infinite where no alarm came within so many.
    """
    scale, shape = 8.5, 5.0
    known = Draws(log_scale=np.full(4, np.log(scale)), log_shape=np.full(4, np.log(shape)))
    answer = np.full(lots, np.inf)
    for lot in range(lots):
        hazards = rng.exponential(size=4 * failures) / multiple
        ages = np.sort(scale * hazards ** (1 / shape))
        for count in range(1, failures + 1):
            if lot_watch(_so_far(ages, count), laws or known).alarm:
                answer[lot] = count
                break
    return answer


def _so_far(ages, count):
    """All parts fitted on one day, looked at when so many have failed."""
    now = ages[count - 1]
    failed = np.arange(len(ages)) < count
    nothing = np.zeros(len(ages))
    return Lives(
        entry=nothing,
        last_good=nothing,
        exit=np.minimum(ages, now),
        failed=failed,
        found=np.zeros(len(ages), dtype=bool),
    )
