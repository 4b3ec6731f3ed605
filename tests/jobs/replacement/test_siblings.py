"""The sibling programme against the same world stepped through week by week."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from jobs.replacement.siblings import SiblingChoice, SiblingPrices, sibling_replacement
from tests.jobs.replacement.simulated_wheels import share_of_right_siblings, sibling_week_by_week

PRICES = SiblingPrices(setup=30, dismount=22, part=42)
LAW = {"scale": 8.5, "shape": 5.0}


def asked(age, *, to_tire_change=2.0, horizons=3, prices=PRICES, **law):
    return sibling_replacement(
        age,
        **(law or LAW),
        prices=prices,
        to_tire_change=to_tire_change,
        later_horizon=4.0,
        horizons=horizons,
    )


class TestSiblingReplacement:
    @pytest.mark.parametrize(("age", "horizons"), [(5.0, 1), (5.0, 3), (8.0, 3), (0.0, 2)])
    def test_as_week_by_week(self, age, horizons):
        answer = asked(age, horizons=horizons)
        now, wait = sibling_week_by_week(age, 8.5, 5.0, PRICES, [2.0] + [4.0] * (horizons - 1))
        assert (answer.cost_now, answer.cost_wait) == pytest.approx((now, wait), rel=0.005)

    def test_decides_as_week_by_week(self):
        assert share_of_right_siblings(40, np.random.default_rng(9)) >= 0.97

    @settings(deadline=None, max_examples=20)
    @given(st.floats(0, 9))
    def test_an_older_body_is_never_cheaper_to_wait_for(self, age):
        assert asked(age).cost_wait <= asked(age + 1).cost_wait + 0.02

    def test_a_new_sibling_waits_and_a_worn_one_does_not(self):
        assert asked(0.5).choose is SiblingChoice.WAIT
        assert asked(9.0).choose is SiblingChoice.NOW

    def test_counts_how_many_laws_agree(self):
        answer = asked(6.0, scale=[5.0, 8.5, 14.0], shape=[5.0, 5.0, 5.0])
        assert answer.share in (pytest.approx(1 / 3), pytest.approx(2 / 3))

    def test_refuses_a_plan_over_nothing(self):
        with pytest.raises(ValueError, match="one at least") as refused:
            asked(5.0, horizons=0)
        assert str(refused.value) == (
            "a plan needs an age, stretches longer than 0 years, and one at least"
        )
