"""How long a family lasts, beside what was assumed of it; held against laws drawn by hand."""

import numpy as np
import pytest

from jobs.replacement.lives import NO_LIVES
from jobs.replacement.posterior import posterior
from jobs.replacement.priors import DEFAULT_PRIORS
from jobs.review.inputs.laws import ShopLaws
from jobs.review.lasting import chosen, family_words, lasting
from jobs.workshop.lives import Family
from tests.jobs.replacement.simulated_lives import lives_of

BODY = Family("body", "clamp_in", "two_piece", "Merow")
PRIOR = DEFAULT_PRIORS["body"]


def known(scale=8.5, count=0, family=BODY):
    lives = lives_of(scale, 5, count, np.random.default_rng(5)) if count else NO_LIVES
    laws = ShopLaws(posteriors={family: posterior(lives, PRIOR)}, priors=DEFAULT_PRIORS)
    return lasting(laws)[0]


class TestLasting:
    def test_half_life_without_a_record_is_the_assumed_one_with_its_width(self):
        # Laws drawn straight from the prior: 8.5 years, 25 % either way, shape about 5.
        rng = np.random.default_rng(8)
        scale = np.exp(rng.normal(PRIOR.mean_log_scale, PRIOR.sd_log_scale, 200_000))
        shape = np.exp(rng.normal(PRIOR.mean_log_shape, PRIOR.sd_log_shape, 200_000))
        drawn = np.quantile(scale * np.log(2) ** (1 / shape), [0.5, 0.05, 0.95])
        assert known().half_life == pytest.approx(drawn, rel=0.01)
        assert known().assumed_half_life == pytest.approx(8.5 * np.log(2) ** 0.2)

    def test_a_family_is_early_only_when_its_records_say_so(self):
        assert known(scale=5.5, count=150).is_early
        assert not known(scale=8.5, count=150).is_early
        assert not known(scale=5.5, count=5).is_early
        assert known(count=5).law.mostly_assumption

    def test_picture_falls_from_all_good_within_its_band(self):
        [now, before] = known(count=40).picture.lines
        share = [good for _, good in now.points]
        assert share[0] == 100
        assert share == sorted(share, reverse=True)
        assert all(low <= y <= high for y, (low, high) in zip(share, now.low_high, strict=True))
        assert before.label == "assumed before"

    def test_shows_the_family_asked_for_else_the_one_with_most_failures(self):
        few = Family("stem", "clamp_in", "two_piece", "")
        told = {
            BODY: posterior(lives_of(6, 5, 30, np.random.default_rng(1)), PRIOR),
            few: posterior(NO_LIVES, DEFAULT_PRIORS["metal_stem"]),
        }
        families = lasting(ShopLaws(posteriors=told, priors=DEFAULT_PRIORS))
        for name, family in (("stem|clamp_in|two_piece|", few), ("nothing", BODY)):
            found = chosen(families, name)
            assert found
            assert found.family == family
        assert chosen([], "nothing") is None


class TestFamilyWords:
    def test_names_it_as_the_trade_does(self):
        assert family_words(BODY) == "Sensor body, clamp-in, two-piece, Merow"
        assert family_words(BODY._replace(maker="")).endswith("makers with few records")
