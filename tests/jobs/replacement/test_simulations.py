"""What the advice claims, held against worlds whose truth is known. The bench has the full form.

True laws come from the default priors. Bounds are those wanted, widened only by what so few worlds
leave to chance.
"""

import numpy as np
import pytest

from tests.jobs.replacement.simulated_lives import calibration_error, coverage
from tests.jobs.replacement.simulated_wheels import regret, regret_of_always, share_of_best


class TestCoverage:
    @pytest.mark.parametrize("records", [5, 20, 100])
    def test_nine_bands_in_ten_hold_the_truth(self, records):
        share = coverage(records, 80, np.random.default_rng(records))
        # 85 to 95 % is wanted; two standard errors of 80 worlds are 6.7 %.
        assert 0.85 - 0.067 <= share <= 0.95 + 0.04


class TestCalibration:
    def test_of_what_is_said_to_fail_as_much_fails(self):
        error = calibration_error(30, 100, np.random.default_rng(0))
        # 2 % is wanted; 400 parts a group leave 2 % to chance.
        assert error <= 0.02 + 0.01


class TestRegret:
    def test_thirty_records_cost_little_more_than_the_truth_would(self):
        assert regret(30, 40, np.random.default_rng(1)) <= 0.03

    def test_without_records_it_beats_any_fixed_habit(self):
        # No rule can do better on average than the least expected cost under the prior.
        rng = np.random.default_rng(2)
        habits = regret_of_always(40, rng)
        assert regret(0, 40, np.random.default_rng(2)) < 0.5 * min(habits.values())


class TestShareOfBest:
    def test_with_the_law_known_the_advice_is_the_best_there_is(self):
        assert share_of_best(100, np.random.default_rng(4)) >= 0.97
