"""The Weibull law against scipy's, and break-even ages against their definition."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from jobs.replacement.weibull import break_even_age, chance_of_failure, cumulative_hazard

SCALES, SHAPES = st.floats(1, 20), st.floats(0.6, 8)
YEARS = st.floats(0, 15)


class TestCumulativeHazard:
    def test_at_the_scale_it_is_one(self):
        # NIST/SEMATECH e-Handbook 8.1.6.2: at the characteristic life 63.2 % have failed.
        hazard = cumulative_hazard(8.5, log_scale=np.log(8.5), log_shape=np.log(5))
        assert 1 - np.exp(-hazard) == pytest.approx(0.632, abs=0.0005)

    @given(YEARS, SCALES, SHAPES)
    def test_is_minus_the_log_of_survival(self, age, scale, shape):
        hazard = cumulative_hazard(age, log_scale=np.log(scale), log_shape=np.log(shape))
        assert hazard == pytest.approx(-stats.weibull_min.logsf(age, shape, scale=scale))


class TestChanceOfFailure:
    @given(YEARS, YEARS, SCALES, SHAPES)
    def test_as_scipy_has_it(self, age, horizon, scale, shape):
        law = stats.weibull_min(shape, scale=scale)
        expected = -np.expm1(law.logsf(age + horizon) - law.logsf(age))
        answer = chance_of_failure(age, horizon, scale=scale, shape=shape)
        assert answer == pytest.approx(expected, abs=1e-12)

    @given(YEARS, SCALES, SHAPES, st.floats(0, 5), st.floats(0, 5))
    def test_a_longer_wait_is_two_waits(self, age, scale, shape, first, second):
        law = {"scale": scale, "shape": shape}
        survives = (1 - chance_of_failure(age, first, **law)) * (
            1 - chance_of_failure(age + first, second, **law)
        )
        both = chance_of_failure(age, first + second, **law)
        assert 1 - both == pytest.approx(survives, abs=1e-12)

    def test_a_shape_of_one_knows_no_age(self):
        ages = chance_of_failure([0, 3, 9], 2, scale=8, shape=1)
        assert ages == pytest.approx([1 - np.exp(-0.25)] * 3)

    def test_refuses_a_negative_age(self):
        with pytest.raises(ValueError, match="at least 0") as refused:
            chance_of_failure(-1, 2, scale=8, shape=5)
        assert str(refused.value) == (
            "an age and a horizon are at least 0 years; got a negative one"
        )

    def test_refuses_a_scale_of_nothing(self):
        with pytest.raises(ValueError, match="above 0") as refused:
            chance_of_failure(1, 2, scale=0, shape=5)
        assert str(refused.value) == "scale and shape of a lifetime law are above 0"


class TestBreakEvenAge:
    @given(st.floats(0.5, 5), SCALES, st.floats(1.5, 8), st.floats(0.05, 0.9))
    def test_there_waiting_costs_what_replacing_costs(self, horizon, scale, shape, price):
        law = {"scale": scale, "shape": shape}
        age = break_even_age(horizon, **law, price=price, failure_cost=1.0)
        if age is None or age == 0:
            return
        wait = chance_of_failure(age, horizon, **law)
        assert wait == pytest.approx(price + chance_of_failure(0, horizon, **law), abs=1e-5)

    def test_replacing_a_part_that_does_not_wear_never_pays(self):
        assert break_even_age(4, scale=8, shape=1, price=1, failure_cost=50) is None

    def test_what_costs_nothing_pays_at_once(self):
        assert break_even_age(4, scale=8, shape=3, price=0, failure_cost=50) == 0

    def test_dearer_than_the_failure_never_pays(self):
        assert break_even_age(4, scale=8, shape=5, price=90, failure_cost=80) is None
