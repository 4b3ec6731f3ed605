import re
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.planning.range_cover import smallest_range, widest_cover

VEHICLES = 6
RANGES = st.dictionaries(
    st.sampled_from("ABCDEFG"),
    st.sets(st.integers(0, VEHICLES - 1)).map(sorted),
    min_size=1,
)
WEIGHTS = st.lists(st.integers(1, 30), min_size=VEHICLES, max_size=VEHICLES)


def covered(weights, fits, parts):
    return sum(weights[vehicle] for vehicle in {v for part in parts for v in fits[part]})


class TestWidestCover:
    @settings(max_examples=40, deadline=None)
    @given(fits=RANGES, weights=WEIGHTS, allowed=st.integers(0, 4))
    def test_is_the_best_of_all_choices(self, fits, weights, allowed):
        best = max(
            covered(weights, fits, parts)
            for count in range(min(allowed, len(fits)) + 1)
            for parts in combinations(fits, count)
        )
        found = widest_cover(weights, fits, parts_allowed=allowed)
        assert found.covered_weight == best == covered(weights, fits, found.parts)
        assert len(found.parts) <= allowed
        assert found.proven

    def test_keeps_no_part_that_covers_nothing_more(self):
        fits = {"all": [0, 1], "first": [0], "none": []}
        assert widest_cover([1, 1], fits, parts_allowed=3).parts == ("all",)

    def test_of_an_empty_range_covers_nothing(self):
        assert widest_cover([1, 1], {}, parts_allowed=3).covered_weight == 0

    def test_refuses_a_negative_number_of_parts(self):
        with pytest.raises(ValueError, match=r"^parts allowed must not be negative; got -1$"):
            widest_cover([1], {"A": [0]}, parts_allowed=-1)


class TestSmallestRange:
    @settings(max_examples=40, deadline=None)
    @given(fits=RANGES, weights=WEIGHTS, share=st.sampled_from([0.3, 0.6, 0.9, 1.0]))
    def test_is_the_smallest_of_all_choices(self, fits, weights, share):
        enough = share * sum(weights) - 1e-9
        if covered(weights, fits, fits) < enough:
            with pytest.raises(ValueError, match="all parts together cover"):
                smallest_range(weights, fits, share=share)
            return
        fewest = next(
            count
            for count in range(len(fits) + 1)
            if any(covered(weights, fits, p) >= enough for p in combinations(fits, count))
        )
        found = smallest_range(weights, fits, share=share)
        assert len(found.parts) == fewest
        assert found.covered_weight >= enough

    def test_chooses_among_hundreds_of_parts_in_time(self):
        rng = np.random.default_rng(1)
        fits = {f"P{number}": rng.choice(300, 12, replace=False).tolist() for number in range(200)}
        found = smallest_range(rng.integers(1, 50, 300), fits, share=0.8, seconds=5)
        assert found.covered_weight >= 0.8 * found.whole_weight

    def test_refuses_a_share_no_range_can_cover(self):
        sentence = (
            "all parts together cover 50.0% of the vehicles; ask for a share of at most that, "
            "got 90.0%"
        )
        with pytest.raises(ValueError, match=f"^{re.escape(sentence)}$"):
            smallest_range([1, 1], {"A": [0]}, share=0.9)

    def test_refuses_a_vehicle_that_does_not_exist(self):
        with pytest.raises(ValueError, match=r"^vehicle 7 does not exist; there are 2$"):
            smallest_range([1, 1], {"A": [0, 7]}, share=0.5)
