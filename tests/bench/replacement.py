"""Lifetimes and advice: speed against lifelines, and the full form of the seeded simulations.

The short forms are in the tests.
"""

import warnings
from collections.abc import Iterator

import numpy as np

from jobs.replacement.advice import advice_for
from jobs.replacement.lives import Lives
from jobs.replacement.posterior import posterior
from jobs.replacement.priors import DEFAULT_PRIORS
from jobs.replacement.wheel import Policy, Wheel
from tests.bench.row import Row, seconds
from tests.jobs.replacement import simulated_lives, simulated_wheels
from tests.jobs.replacement.cast import ASSUMED

RECORDS, WHEELS = 10_000, 1_000
FAMILIES = {"body": "body", "stem": "metal_stem", "seal": "seal"}


def measure() -> Row:
    """Advice for 1,000 wheels against one lifelines fit of 10,000 records."""
    lives = simulated_lives.lives_of(8.5, 5.0, RECORDS, np.random.default_rng(1))
    wheels = _wheels(np.random.default_rng(2))
    fit = seconds(lambda: _fit_with_lifelines(lives))
    ours = seconds(lambda: advice_for(wheels, Policy()), repeat=5)
    return Row(
        work="advice for 1,000 wheels",
        against="one lifelines Weibull fit of 10,000 records",
        ratio=ours / fit,
        goal=2.0,
        words=f"{ours * 1000:.0f} ms against {fit * 1000:.0f} ms.",
    )


def measure_fit() -> Row:
    """The posterior of 10,000 records, a third of the failures only found at a visit."""
    lives = simulated_lives.lives_of(8.5, 5.0, RECORDS, np.random.default_rng(1))
    ours = seconds(lambda: posterior(lives, DEFAULT_PRIORS["body"]))
    return Row(
        work="posterior of a family of 10,000 records",
        against="0.4 s",
        ratio=ours / 0.4,
        goal=1.0,
        words=f"{ours * 1000:.0f} ms.",
    )


def _wheels(rng: np.random.Generator) -> list[Wheel]:
    draws = {part: ASSUMED[family] for part, family in FAMILIES.items()}
    return [simulated_wheels.random_wheel(rng, draws) for _ in range(WHEELS)]


def _fit_with_lifelines(lives: Lives) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from lifelines import WeibullFitter

        WeibullFitter().fit(lives.exit, lives.failed | lives.found, entry=lives.entry)


def simulations() -> Iterator[Row]:
    """What the tests hold in short form, over as many worlds as make chance small."""
    for records in (5, 20, 100):
        share = simulated_lives.coverage(records, 600, np.random.default_rng(records))
        yield _claim(
            f"90 % bands holding the truth, {records} records, off 0.9 by", abs(share - 0.9), 0.05
        )
    error = simulated_lives.calibration_error(30, 500, np.random.default_rng(0))
    yield _claim("calibration error at 30 records", error, 0.02)
    for records, worlds, goal in ((30, 300, 0.03), (0, 600, 0.06)):
        cost = simulated_wheels.regret(records, worlds, np.random.default_rng(records))
        yield _claim(f"regret at {records} records, all three laws unknown", cost, goal)
    body_only = simulated_wheels.regret(0, 600, np.random.default_rng(0), unknown=("body",))
    yield _claim("regret at 0 records, the body's law unknown", body_only, 0.06)
    best = simulated_wheels.share_of_best(600, np.random.default_rng(4))
    yield _claim("advice that is the simulated best", best, 0.98, at_least=True)
    right = simulated_wheels.share_of_right_siblings(300, np.random.default_rng(9))
    yield _claim("sibling decisions that are right", right, 0.99, at_least=True)
    yield from _lots()


def _lots() -> Iterator[Row]:
    rng = np.random.default_rng(2)
    sound = simulated_lives.failures_until_alarm(1.0, lots=1000, failures=60, rng=rng)
    yield _claim("sound lots that alarm", float(np.isfinite(sound).mean()), 0.01)
    for multiple, within in ((3.0, 13), (2.0, 28)):
        found = simulated_lives.failures_until_alarm(multiple, lots=600, failures=200, rng=rng)
        yield _claim(
            f"failures until {multiple:.0f} × the hazard is found", float(found.mean()), within
        )


def _claim(work: str, value: float, goal: float, *, at_least: bool = False) -> Row:
    return Row(work=work, against="the truth", ratio=value, goal=goal, at_least=at_least)


def rows() -> Iterator[Row]:
    yield measure()
    yield measure_fit()
    yield from simulations()
