"""Bad lots: the false-alarm rate holds, and a bad lot is found in time."""

import numpy as np
import pytest

from jobs.replacement.lives import Event, Life, Lives
from jobs.replacement.lots import expected_false_alarms, lot_watch
from jobs.replacement.posterior import Draws, posterior
from jobs.replacement.priors import DEFAULT_PRIORS
from tests.jobs.replacement.simulated_lives import failures_until_alarm

KNOWN = Draws(log_scale=np.full(8, np.log(8.5)), log_shape=np.full(8, np.log(5.0)))


def lot(*, failed=(), alive=()):
    lives = [Life(exit=age, event=Event.FAILED) for age in failed]
    return Lives.of(lives + [Life(exit=age, event=Event.ALIVE) for age in alive])


class TestLotWatch:
    def test_starts_without_evidence(self):
        watch = lot_watch(lot(), KNOWN)
        assert watch.evidence == pytest.approx(1)
        assert not watch.alarm

    def test_evidence_is_the_likelihood_ratio_where_the_law_is_known(self):
        # Mean over m = 2, 3 of m^N·exp(−(m − 1)·expected), by hand.
        watch = lot_watch(lot(failed=[4, 5], alive=[6, 6, 3]), KNOWN)
        expected = sum((age / 8.5) ** 5 for age in (4, 5, 6, 6, 3))
        assert watch.expected == pytest.approx(expected)
        ratio = (2**2 * np.exp(-expected) + 3**2 * np.exp(-2 * expected)) / 2
        assert watch.evidence == pytest.approx(ratio)

    def test_parts_dying_young_raise_it_and_parts_living_on_lower_it(self):
        young = lot_watch(lot(failed=[2, 2, 2.5]), KNOWN)
        assert young.alarm is False
        assert lot_watch(lot(failed=[2] * 6), KNOWN).alarm
        assert lot_watch(lot(alive=[10] * 6), KNOWN).evidence < 0.1

    def test_a_failure_found_at_a_visit_counts_for_its_gap(self):
        # Known good at 3.9, found dead at 4: as good as seen.
        found = Lives.of([Life(exit=4, event=Event.FOUND_FAILED, last_good=3.999)] * 3)
        seen = lot(failed=[4] * 3)
        assert lot_watch(found, KNOWN).evidence == pytest.approx(
            lot_watch(seen, KNOWN).evidence, rel=0.01
        )

    def test_a_family_little_is_known_of_takes_more_to_convince(self):
        nobody = posterior(Lives.of([]), DEFAULT_PRIORS["body"]).draws()
        early = lot(failed=[3.5] * 5)
        assert lot_watch(early, nobody).evidence < lot_watch(early, KNOWN).evidence

    def test_refuses_a_rate_of_nothing(self):
        with pytest.raises(ValueError, match="false-alarm") as refused:
            lot_watch(lot(), KNOWN, false_alarms_per_lot=0)
        assert str(refused.value) == "the false-alarm rate must be between 0 and 1; got 0"

    def test_sound_lots_rarely_alarm_however_often_one_looks(self):
        found = failures_until_alarm(1.0, lots=80, failures=30, rng=np.random.default_rng(1))
        # One in a hundred is promised; 5 or more of 80 would come once in 700 times.
        assert np.isfinite(found).sum() <= 4

    @pytest.mark.parametrize(("multiple", "within"), [(3.0, 13), (2.0, 28)])
    def test_bad_lots_are_found_in_time(self, multiple, within):
        rng = np.random.default_rng(2)
        found = failures_until_alarm(multiple, lots=120, failures=120, rng=rng)
        assert np.isfinite(found).all()
        # Within two standard errors of the mean of so few lots.
        assert found.mean() - 2 * found.std() / np.sqrt(len(found)) <= within


class TestExpectedFalseAlarms:
    def test_one_lot_in_a_hundred(self):
        assert expected_false_alarms(300) == pytest.approx(3)
