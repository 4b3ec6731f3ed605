"""The likelihood over a grid, against scipy's densities one record at a time."""

import numpy as np
import pytest
from scipy import stats

from jobs.replacement.lives import Event, Life, Lives

SCALES, SHAPES = np.log([5.0, 8.5, 14.0]), np.log([0.8, 2.0, 6.0])


def one_by_one(lives, scale, shape):
    """Each record through scipy's Weibull law: the definition, slowly."""
    law = stats.weibull_min(shape, scale=scale)
    total = 0.0
    for life in lives:
        total -= law.logsf(life.entry)
        if life.event is Event.ALIVE:
            total += law.logsf(life.exit)
        elif life.event is Event.FAILED:
            total += law.logpdf(life.exit)
        else:
            good = law.logsf(max(life.entry, life.last_good))
            total += good + np.log(-np.expm1(law.logsf(life.exit) - good))
    return total


def some_lives(count, rng, events):
    exits = rng.uniform(1, 12, count)
    for left in exits:
        entry = rng.choice([0.0, rng.uniform(0, left)])
        good = rng.uniform(0, left)
        event = Event(rng.choice(events))
        yield Life(exit=left, event=event, entry=entry, last_good=good)


class TestLogLikelihood:
    @pytest.mark.parametrize("events", [["alive"], ["failed"], ["found_failed"], list(Event)])
    def test_each_kind_of_record_as_defined(self, events):
        lives = list(some_lives(40, np.random.default_rng(5), events))
        grid = Lives.of(lives).log_likelihood().at(SCALES, SHAPES)
        for row, scale in enumerate(np.exp(SCALES)):
            for column, shape in enumerate(np.exp(SHAPES)):
                expected = one_by_one(lives, scale, shape)
                assert grid[row, column] == pytest.approx(expected, rel=1e-9)

    def test_many_found_failures_gathered_by_size_lose_nothing_that_matters(self):
        lives = list(some_lives(700, np.random.default_rng(6), ["found_failed"]))
        grid = Lives.of(lives).log_likelihood().at(SCALES, SHAPES)
        exact = [[one_by_one(lives, s, b) for b in np.exp(SHAPES)] for s in np.exp(SCALES)]
        # A hundredth of a unit of log likelihood moves no figure that is shown.
        assert np.abs(grid - exact).max() < 0.01

    def test_no_records_say_nothing(self):
        assert not Lives.of([]).log_likelihood().at(SCALES, SHAPES).any()
