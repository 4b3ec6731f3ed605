"""Records that cannot be are refused."""

import pytest

from jobs.replacement.lives import NO_LIVES, Event, Life, Lives


def refusal(*lives):
    with pytest.raises(ValueError, match=r".") as refused:
        Lives.of(lives)
    return str(refused.value)


class TestLives:
    def test_counts_failures_seen_and_found(self):
        lives = Lives.of(
            [
                Life(exit=5, event=Event.ALIVE),
                Life(exit=6, event=Event.FAILED),
                Life(exit=7, event=Event.FOUND_FAILED, last_good=2),
            ]
        )
        assert (len(lives), lives.failures) == (3, 2)
        assert len(NO_LIVES) == 0

    def test_a_found_failure_lies_after_it_was_last_good_and_after_it_came(self):
        lives = Lives.of([Life(exit=9, event=Event.FOUND_FAILED, entry=4, last_good=2)])
        assert lives.open_from.tolist() == [4]

    def test_refuses_to_leave_before_it_came(self):
        assert refusal(Life(exit=3, event=Event.ALIVE, entry=4)) == (
            "a life leaves no earlier than it came in, and neither before age 0"
        )

    def test_refuses_a_failure_at_age_0(self):
        assert refusal(Life(exit=0, event=Event.FAILED)) == (
            "a part that failed was older than 0 years when it did"
        )

    def test_refuses_a_failure_found_before_it_was_last_good(self):
        assert refusal(Life(exit=3, event=Event.FOUND_FAILED, last_good=3)) == (
            "a failure found at a visit lies after the part was last known good"
        )
