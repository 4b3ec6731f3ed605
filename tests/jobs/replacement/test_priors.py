"""Default beliefs, all of them assumptions."""

import numpy as np
import pytest

from jobs.replacement.lives import NO_LIVES
from jobs.replacement.posterior import posterior
from jobs.replacement.priors import DEFAULT_PRIORS, Prior


class TestPrior:
    def test_refuses_to_be_certain(self):
        with pytest.raises(ValueError, match="above 0") as refused:
            Prior(mean_log_scale=2, sd_log_scale=0, mean_log_shape=1, sd_log_shape=0.3)
        assert str(refused.value) == (
            "a prior's standard deviations are above 0; a sure thing needs none"
        )

    def test_moving_it_moves_all_lives_alike(self):
        moved = DEFAULT_PRIORS["body"].moved(np.log(2))
        assert np.exp(moved.mean_log_scale) == pytest.approx(17)


class TestDefaultPriors:
    def test_most_bodies_are_assumed_to_last_5_to_12_years(self):
        # Battery life in the trade press: 5–12 years (published, read): an assumption.
        survival, _, _ = posterior(NO_LIVES, DEFAULT_PRIORS["body"]).survival([5, 12])
        assert survival[0] > 0.8
        assert survival[1] < 0.15
