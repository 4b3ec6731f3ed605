"""The chance of any failure, held against parts that are let die many times over."""

import numpy as np
import pytest

from jobs.replacement.outlook import AtRisk, chance_of_any
from tests.jobs.replacement.cast import ASSUMED

LAWS = ASSUMED["body"]


def body(age, years=4.0, **more):
    return AtRisk(age_years=age, years=years, laws=LAWS, **more)


class TestChanceOfAny:
    def test_matches_parts_let_die(self):
        rng = np.random.default_rng(6)
        ages, years, trials = np.array([6.0, 6.0, 2.0]), 3.0, 200_000
        law = rng.integers(len(LAWS.scale), size=trials)
        scale, shape = LAWS.scale[law][:, None], LAWS.shape[law][:, None]
        lived = (ages / scale) ** shape + rng.exponential(size=(trials, 3))
        died = (scale * lived ** (1 / shape) < ages + years).any(axis=1).mean()
        told = chance_of_any([body(age, years) for age in ages])
        # Four standard errors of the simulation.
        assert told == pytest.approx(died, abs=4 * np.sqrt(0.25 / trials))

    def test_parts_of_one_family_go_together(self):
        alone = chance_of_any([body(6)])
        assert alone < chance_of_any([body(6), body(6)]) < 1 - (1 - alone) ** 2

    def test_one_that_will_not_last_settles_it(self):
        assert chance_of_any([body(1), body(0.1, hopeless=True)]) == 1.0

    def test_nothing_is_no_risk(self):
        assert chance_of_any([]) == 0.0
