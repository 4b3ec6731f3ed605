"""What was said against what happened."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.replacement.track_record import track_record

CASES = st.lists(st.tuples(st.floats(0, 1), st.booleans()), max_size=60)


class TestTrackRecord:
    @given(CASES)
    def test_every_wheel_is_in_one_group_that_its_chance_belongs_to(self, cases):
        groups = track_record([chance for chance, _ in cases], [failed for _, failed in cases])
        assert sum(group.wheels for group in groups) == len(cases)
        assert sum(group.failed for group in groups) == sum(failed for _, failed in cases)
        for group in groups:
            if group.said is not None:
                assert group.from_chance - 1e-9 <= group.said <= group.to_chance + 1e-9

    def test_honest_chances_lie_in_their_intervals_and_boastful_ones_do_not(self):
        rng = np.random.default_rng(7)
        truth = rng.random(3000)
        failed = rng.random(3000) < truth
        for group in track_record(truth, failed):
            assert group.low95 is not None
            assert group.said is not None
            assert group.low95 - 0.01 <= group.said
        boastful = track_record(truth**3, failed)[1]
        assert boastful.low95 is not None
        assert boastful.said is not None
        assert boastful.said < boastful.low95

    def test_refuses_outcomes_of_other_wheels(self):
        with pytest.raises(ValueError, match="held against") as refused:
            track_record([0.1, 0.2], [True])
        assert str(refused.value) == "2 chances stated cannot be held against 1 outcomes"

    def test_refuses_what_is_no_chance(self):
        with pytest.raises(ValueError, match="between") as refused:
            track_record([1.2], [True])
        assert str(refused.value) == "a chance lies between 0 and 1"
