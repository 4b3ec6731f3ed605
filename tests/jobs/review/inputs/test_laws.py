"""Posteriors remembered by what their records say, and never by when they were read."""

from typing import Any

import numpy as np
import pytest

from jobs.replacement.posterior import posterior
from jobs.replacement.priors import DEFAULT_PRIORS
from jobs.review.inputs.laws import as_lives, families, kept_posterior
from jobs.workshop.lives import Event, Family, LifeRecord
from tests.jobs.replacement.simulated_lives import lives_of

FAMILY = Family("body", "clamp_in", "two_piece", "Merow")
PRIOR = DEFAULT_PRIORS["body"]


def record(**fields):
    defaults: dict[str, Any] = dict.fromkeys(("piece", "vehicle"), 1) | dict.fromkeys(
        ("part", "lot", "first_seen_on", "ended_on")
    )
    told = {"entry": 0.0, "last_good": 2.0, "exit": 6.0, "event": Event.ALIVE}
    return LifeRecord(printed_code="", family=FAMILY, **defaults | told | fields)


class TestKeptPosterior:
    def test_is_that_of_the_records_and_reckoned_once(self):
        lives = lives_of(8.5, 5, 60, np.random.default_rng(3))
        again = lives_of(8.5, 5, 60, np.random.default_rng(3))
        kept = kept_posterior(lives, PRIOR)
        assert kept_posterior(again, PRIOR) is kept
        assert np.array_equal(kept.weight, posterior(lives, PRIOR).weight)

    @pytest.mark.parametrize("change", [{"exit": 6.1}, {"entry": 0.1}, {"event": Event.FAILED}])
    def test_one_changed_life_is_another_posterior(self, change):
        before = kept_posterior(as_lives([record(), record()]), PRIOR)
        after = kept_posterior(as_lives([record(), record(**change)]), PRIOR)
        assert not np.array_equal(before.weight, after.weight)

    def test_another_belief_is_another_posterior(self):
        lives = as_lives([record()])
        other = PRIOR.moved(0.2)
        assert not np.array_equal(
            kept_posterior(lives, PRIOR).log_scale, kept_posterior(lives, other).log_scale
        )


class TestAsLives:
    def test_keeps_how_each_life_ended(self):
        events = [Event.ALIVE, Event.FAILED, Event.FOUND_FAILED]
        lives = as_lives([record(event=event) for event in events])
        assert lives.failed.tolist() == [False, True, False]
        assert lives.found.tolist() == [False, False, True]


class TestFamilies:
    def test_a_maker_with_ten_records_stands_alone_and_the_others_together(self):
        rare = FAMILY._replace(maker="Varsko")
        grouped = families({FAMILY: [record()] * 10, rare: [record()] * 9})
        assert {family.maker: len(own) for family, own in grouped.items()} == {"Merow": 10, "": 9}
