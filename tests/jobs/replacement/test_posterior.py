"""The posterior against lifelines, brute force, and plain sense where there is little to know."""

import warnings

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from jobs.replacement.lives import NO_LIVES, Event, Life, Lives
from jobs.replacement.posterior import posterior, posterior_mode
from jobs.replacement.priors import DEFAULT_PRIORS, Prior
from jobs.replacement.weibull import chance_of_failure

BODY = DEFAULT_PRIORS["body"]
FLAT = Prior(mean_log_scale=0, sd_log_scale=50, mean_log_shape=0, sd_log_shape=50)


def fleet(count, rng, *, scale=8.5, shape=5.0):
    """Lives watched from an age on until a random day, half of them failing in sight."""
    life = scale * rng.weibull(shape, count)
    entry = np.where(rng.random(count) < 0.4, rng.uniform(0, 4, count), 0.0)
    seen = life > entry
    life, entry = life[seen], entry[seen]
    until = entry + rng.uniform(0.5, 9, len(life))
    failed = life < until
    nothing = np.zeros(len(life), dtype=bool)
    return Lives(
        entry=entry,
        last_good=np.zeros(len(life)),
        exit=np.minimum(life, until),
        failed=failed,
        found=nothing,
    )


def with_lifelines(lives):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from lifelines import WeibullFitter

        fit = WeibullFitter().fit(lives.exit, lives.failed, entry=lives.entry)
    return fit.lambda_, fit.rho_


def with_brute_force(lives, prior, age, horizon):
    """Mean and band on a fixed 400 × 400 grid, each record through scipy's law."""
    log_scale = np.linspace(-6, 6, 400) * prior.sd_log_scale + prior.mean_log_scale
    log_shape = np.linspace(-6, 6, 400) * prior.sd_log_shape + prior.mean_log_shape
    scale, shape = np.meshgrid(np.exp(log_scale), np.exp(log_shape), indexing="ij")
    density = stats.norm.logpdf(log_scale, prior.mean_log_scale, prior.sd_log_scale)[:, None]
    density = density + stats.norm.logpdf(log_shape, prior.mean_log_shape, prior.sd_log_shape)
    for life in lives:
        law = stats.weibull_min(shape, scale=scale)
        density -= law.logsf(life.entry)
        density += law.logpdf(life.exit) if life.event is Event.FAILED else law.logsf(life.exit)
    weight = np.exp(density - density.max()).ravel()
    chance = chance_of_failure(age, horizon, scale=scale, shape=shape).ravel()
    order = np.argsort(chance)
    reached = np.cumsum(weight[order]) / weight.sum()
    low, high = np.interp([0.05, 0.95], reached, chance[order])
    return chance @ weight / weight.sum(), low, high


class TestPosteriorMode:
    @pytest.mark.parametrize("seed", range(6))
    def test_under_a_flat_prior_it_is_the_fit_of_lifelines(self, seed):
        # lifelines 0.30, WeibullFitter with entry: right-censored and left-truncated.
        lives = fleet(300, np.random.default_rng(seed))
        assert posterior_mode(lives, FLAT) == pytest.approx(with_lifelines(lives), rel=0.002)


class TestPosterior:
    @pytest.mark.parametrize(("age", "horizon"), [(0, 4), (3, 2), (7, 3)])
    def test_mean_and_band_as_by_brute_force(self, age, horizon):
        lives = [
            Life(exit=9.0, event=Event.FAILED, entry=3.0),
            Life(exit=7.5, event=Event.ALIVE, entry=4.0),
            Life(exit=6.0, event=Event.ALIVE),
            Life(exit=4.5, event=Event.FAILED),
        ]
        answer = posterior(Lives.of(lives), BODY).chance(age, horizon)
        expected = with_brute_force(lives, BODY, age, horizon)
        assert (answer.mean, answer.low90, answer.high90) == pytest.approx(expected, abs=0.002)

    @settings(deadline=None, max_examples=25)
    @given(
        st.lists(
            st.builds(
                Life,
                exit=st.floats(5, 15),
                event=st.sampled_from(Event),
                entry=st.floats(0, 4.5),
                last_good=st.floats(0, 4.5),
            ),
            max_size=30,
        ),
        st.sampled_from(sorted(DEFAULT_PRIORS)),
    )
    def test_whatever_the_records_it_is_a_law_of_chances(self, lives, family):
        told = posterior(Lives.of(lives), DEFAULT_PRIORS[family])
        assert told.weight.sum() == pytest.approx(1)
        # Nothing worth counting lies at the edge of the grid: it holds what there is.
        edges = (told.weight[[0, -1]].sum(), told.weight[:, [0, -1]].sum())
        assert max(edges) < 1e-4
        soon, later = told.chance(4, 1), told.chance(4, 3)
        assert 0 <= soon.low90 <= soon.mean <= soon.high90 <= 1
        assert soon.mean <= later.mean

    def test_no_failure_in_many_years_is_good_news_but_no_promise(self):
        never = Lives.of([Life(exit=9.0, event=Event.ALIVE)] * 40)
        told, nobody = posterior(never, BODY), posterior(NO_LIVES, BODY)
        assert 0.001 < told.chance(8, 2).mean < 0.5 * nobody.chance(8, 2).mean

    def test_one_early_failure_moves_a_prior_and_does_not_replace_it(self):
        # A bare fit to one failure puts all lives at that age.
        one = posterior(Lives.of([Life(exit=2.0, event=Event.FAILED)]), BODY)
        nobody = posterior(NO_LIVES, BODY)
        assert nobody.chance(0, 4).mean < one.chance(0, 4).mean < 0.3

    def test_a_failed_sibling_is_evidence(self):
        sibling = Lives.of([Life(exit=6.0, event=Event.FAILED)])
        told = posterior(sibling, BODY).chance(6, 2).mean
        assert told > posterior(NO_LIVES, BODY).chance(6, 2).mean

    def test_with_thousands_of_records_the_prior_is_forgotten(self):
        lives = fleet(8000, np.random.default_rng(3), scale=6.0, shape=3.0)
        answer = posterior(lives, BODY).chance(4, 3)
        truth = chance_of_failure(4, 3, scale=6.0, shape=3.0)
        assert answer.low90 < truth < answer.high90
        assert answer.high90 - answer.low90 < 0.04

    def test_says_when_it_is_mostly_assumption(self):
        life = Life(exit=5.0, event=Event.ALIVE)
        assert posterior(Lives.of([life] * 9), BODY).mostly_assumption
        assert not posterior(Lives.of([life] * 10), BODY).mostly_assumption

    def test_survival_falls_from_one_inside_its_band(self):
        mean, low, high = posterior(NO_LIVES, BODY).survival(np.arange(0, 16))
        assert mean[0] == low[0] == high[0] == 1
        assert (np.diff(mean) <= 0).all()
        assert ((low <= mean) & (mean <= high)).all()


class TestDraws:
    @pytest.mark.parametrize("family", sorted(DEFAULT_PRIORS))
    def test_their_mean_is_the_posteriors(self, family):
        told = posterior(NO_LIVES, DEFAULT_PRIORS[family])
        draws = told.draws()
        for age in (0, 3, 8):
            mean = chance_of_failure(age, 3, scale=draws.scale, shape=draws.shape).mean()
            assert mean == pytest.approx(told.chance(age, 3).mean, abs=0.0025)

    def test_the_same_each_time(self):
        told = posterior(NO_LIVES, BODY)
        assert (told.draws().log_scale == told.draws().log_scale).all()
