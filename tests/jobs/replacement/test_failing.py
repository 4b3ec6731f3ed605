import numpy as np
import pytest

from jobs.replacement.failing import InUse, failures_between
from jobs.replacement.posterior import Draws
from jobs.replacement.weibull import chance_of_failure


def laws(*pairs):
    scale, shape = zip(*pairs, strict=True)
    return Draws(log_scale=np.log(scale), log_shape=np.log(shape))


class TestInUse:
    def test_refuses_a_piece_that_grew_younger(self):
        with pytest.raises(ValueError, match="is not younger now"):
            InUse.of([3.0], [2.0], [0])


class TestFailuresBetween:
    def test_a_piece_seen_good_today_fails_as_the_closed_form_says(self):
        # chance_of_failure is tested against NIST's closed form.
        found = failures_between(
            InUse.of([4.0], [4.0], [0]), [laws((8.5, 5))], group=[0], groups=1, weeks=[0, 52]
        )
        year = 52 / (365.25 / 7)
        expected = chance_of_failure(4.0, year, scale=8.5, shape=5)
        assert found[0, 0, 0] == pytest.approx(float(expected))

    def test_agrees_with_pieces_drawn_by_chance(self):
        rng = np.random.default_rng(4)
        lives = 8.5 * rng.weibull(5, 400_000)
        # Last seen good at 5 years, 6 years old now: those that died between are not counted.
        alive_when_seen = lives[lives > 5]
        age = 6 + np.arange(27) / (365.25 / 7)
        drawn = np.histogram(alive_when_seen, age)[0] / len(alive_when_seen)
        found = failures_between(
            InUse.of([5.0], [6.0], [0]), [laws((8.5, 5))], group=[0], groups=1, weeks=range(27)
        )
        assert found[0, :, 0].sum() == pytest.approx(drawn.sum(), rel=0.03)
        assert found.shape == (1, 26, 1)

    def test_adds_up_by_group_and_keeps_the_draws_apart(self):
        pieces = InUse.of([2.0, 7.0, 7.0], [2.0, 7.0, 7.0], [0, 1, 1])
        both = [laws((8.5, 5), (6.0, 4)), laws((7.0, 3), (9.0, 5))]
        found = failures_between(pieces, both, group=[0, 1, 1], groups=3, weeks=[0, 10, 52])
        alone = failures_between(
            InUse.of([7.0], [7.0], [0]), [both[1]], group=[0], groups=1, weeks=[0, 10, 52]
        )
        assert found[1] == pytest.approx(2 * alone[0])
        assert (found[2] == 0).all()
        assert not np.allclose(found[1, :, 0], found[1, :, 1])

    def test_many_pieces_are_worked_on_in_parts(self):
        n = 1_201
        pieces = InUse.of(np.full(n, 3.0), np.full(n, 3.0), np.zeros(n, dtype=int))
        found = failures_between(
            pieces, [laws((8.5, 5))], group=np.zeros(n), groups=1, weeks=[0, 9]
        )
        one = failures_between(
            InUse.of([3.0], [3.0], [0]), [laws((8.5, 5))], group=[0], groups=1, weeks=[0, 9]
        )
        assert found == pytest.approx(n * one)

    def test_no_pieces_fail_nowhere(self):
        assert (
            failures_between(InUse.of([], [], []), [], group=[], groups=2, weeks=[0, 1]).sum() == 0
        )
