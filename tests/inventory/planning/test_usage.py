import numpy as np
import pytest
from scipy import stats

from inventory.planning.usage import (
    RateLaw,
    prediction,
    rate_posterior,
    remembered,
    season_weights,
    usage,
)

WEEKS = 156


class TestRatePosterior:
    def test_predicts_as_scipy_does(self):
        prior = RateLaw(shape=np.array([0.8]), exposure_days=np.array([4.0]))
        rate = rate_posterior(prior, occasions=[3], exposure_days=[6])
        coming = prediction(rate, 2.0)
        law = stats.nbinom(3.8, 10 / 12)
        assert coming.mean[0] == pytest.approx(law.mean())
        assert coming.variance[0] == pytest.approx(law.var())
        assert coming.chance_of_none[0] == pytest.approx(law.pmf(0))


class TestRemembered:
    def test_a_week_counts_half_after_its_half_life(self):
        weeks = np.zeros((1, 53))
        weeks[0, 0] = 1
        assert remembered(weeks, half_life_weeks=52)[0] == pytest.approx(0.5)


class TestUsage:
    def test_finds_the_true_rate_through_stock_outs(self):
        """Out of stock half of the time: the rate is that of the days it could be had."""
        rng = np.random.default_rng(3)
        parts, rate = 400, 0.9
        here = rng.random((parts, WEEKS)) < 0.5
        asked = rng.poisson(rate, (parts, WEEKS))
        seen = np.where(here, asked, 0)
        learned = usage(seen, np.where(here, 7.0, 0.0), group=np.zeros(parts, dtype=int))
        assert learned.rate.mean_rate.mean() * 7 == pytest.approx(rate, rel=0.05)
        # Taking the empty weeks for weeks without demand would be half of it.
        naive = usage(seen, np.full((parts, WEEKS), 7.0), group=np.zeros(parts, dtype=int))
        assert naive.rate.mean_rate.mean() * 7 == pytest.approx(rate / 2, rel=0.05)

    def test_finds_it_with_lost_asks_written_down(self):
        rng = np.random.default_rng(4)
        asked = rng.poisson(0.9, (400, WEEKS))
        learned = usage(asked, np.full((400, WEEKS), 7.0), group=np.zeros(400, dtype=int))
        assert learned.rate.mean_rate.mean() * 7 == pytest.approx(0.9, rel=0.05)

    def test_a_new_part_starts_from_its_group(self):
        rng = np.random.default_rng(5)
        asked = rng.poisson(0.5, (50, WEEKS))
        asked[-1] = 0
        days = np.full((50, WEEKS), 7.0)
        days[-1] = 0
        learned = usage(asked, days, group=np.zeros(50, dtype=int))
        others = learned.rate.mean_rate[:-1].mean()
        assert learned.rate.mean_rate[-1] == pytest.approx(others, rel=0.25)

    def test_no_usage_at_all_is_no_fault(self):
        learned = usage(np.zeros((3, 10)), np.full((3, 10), 7.0), group=[0, 0, 0])
        assert np.isfinite(learned.rate.mean_rate).all()

    def test_refuses_groups_that_do_not_fit(self):
        with pytest.raises(ValueError, match="2 parts need as many groups; got 1"):
            usage([[1, 2], [3, 4]], [7.0, 7.0], group=[0])


class TestSeasonWeights:
    def test_follow_the_wave_and_average_one(self):
        rng = np.random.default_rng(6)
        wave = 1 + 0.6 * np.sin(np.arange(WEEKS) * 2 * np.pi / 52)
        asked = rng.poisson(40 * wave, (1, WEEKS))
        weeks = np.arange(WEEKS) % 52
        weights = season_weights(asked, np.full((1, WEEKS), 7.0), week_of_year=weeks)
        assert weights.mean() == pytest.approx(1)
        assert weights[0] == pytest.approx(wave[:52], abs=0.25)
