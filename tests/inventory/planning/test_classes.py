import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.planning.classes import classes

worths = st.lists(st.integers(0, 50), min_size=1, max_size=30)


def by_hand(worth, cuts):
    """The definition read aloud: what all that bring more bring together, against the cuts."""
    total, found = sum(worth), []
    for one in worth:
        before = sum(other for other in worth if other > one)
        passed = sum(before * 100 >= cut * total for cut in cuts)
        found.append(passed if one else len(cuts))
    return found


class TestClasses:
    def test_the_fewest_that_bring_eighty_percent_are_the_first(self):
        # 40 + 30 = 70 are not yet 80 of 100, so the next one is needed too; then 90 and 95.
        found = classes([3, 40, 10, 30, 5, 10, 2, 0])
        assert found.number.tolist() == [2, 0, 0, 0, 1, 0, 2, 2]
        assert found.share.tolist() == pytest.approx([0.03, 0.4, 0.1, 0.3, 0.05, 0.1, 0.02, 0])

    @given(worth=worths)
    def test_agrees_with_the_definition_read_aloud(self, worth):
        assert classes(worth).number.tolist() == by_hand(worth, (80, 95))

    @given(worth=worths, seed=st.integers(0, 9))
    def test_the_order_of_the_parts_does_not_matter(self, worth, seed):
        order = np.random.default_rng(seed).permutation(len(worth))
        mixed = classes(np.array(worth)[order]).number
        assert mixed.tolist() == classes(worth).number[order].tolist()

    def test_equals_share_a_class(self):
        assert classes([10] * 10).number.tolist() == [0] * 10

    def test_where_nothing_brings_anything_all_are_last(self):
        found = classes([0, 0, 0])
        assert (found.number.tolist(), found.share.tolist()) == ([2, 2, 2], [0, 0, 0])

    def test_one_part_alone_brings_it_all(self):
        assert classes([7]).number.tolist() == [0]

    def test_groups_are_ranked_apart(self):
        here, there = [60, 25, 10, 5], [6, 2.5, 1, 0.5]
        mixed = np.array([here, there]).T.ravel()
        found = classes(mixed, group=[7, 3] * 4).number
        assert found.tolist() == np.repeat(classes(here).number, 2).tolist()

    def test_cuts_can_be_others(self):
        assert classes([50, 30, 20], cuts=[0.5]).number.tolist() == [0, 1, 1]

    @pytest.mark.parametrize(
        ("given", "sentence"),
        [
            ({"worth": [1, -2]}, "worth of a part must not be negative; got -2"),
            ({"worth": [1], "cuts": [0.95, 0.8]}, "cuts between classes must ascend"),
            ({"worth": [1], "cuts": [0.8, 1.2]}, "cut between classes must be between 0 and 1"),
        ],
    )
    def test_refuses_at_the_door(self, given, sentence):
        with pytest.raises(ValueError, match=sentence):
            classes(**given)
