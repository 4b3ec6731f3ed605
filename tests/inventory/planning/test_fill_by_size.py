import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from inventory.planning.demand import Demand, TableSizes
from inventory.planning.fill_by_size import job_fill_by_size
from inventory.planning.interval import Interval
from inventory.planning.policy import policy_service


class TestJobFillBySize:
    def test_of_single_pieces_is_the_closed_form(self):
        # Poisson base stock: all k are there when D <= R + 1 - k, D ~ Poisson(rate × lead).
        asks = Demand.of([0.3], TableSizes.of([0, 1.0]))
        fill = job_fill_by_size(
            asks, Interval.of([4.0]), reorder_point=3, order_quantity=1, largest=6
        )
        assert fill[0] == pytest.approx(stats.poisson.cdf(4 - np.arange(7), 1.2))

    @settings(max_examples=30, deadline=None)
    @given(
        rate=st.floats(0.01, 3),
        shape=st.sampled_from([0.3, 4.0, np.inf]),
        point=st.integers(-1, 30),
        quantity=st.integers(1, 12),
    )
    def test_over_all_sizes_it_is_the_job_fill_of_the_policy(self, rate, shape, point, quantity):
        sizes = [0, 0.5, 0.2, 0.1, 0.2]
        asks = Demand.of([rate], TableSizes.of(sizes), rate_shape=shape)
        interval = Interval.of([[2.0, 9.0]], [[0.7, 0.3]], review_days=7)
        rule = {"reorder_point": point, "order_quantity": quantity}
        whole = policy_service(asks, interval, **rule).job_fill
        fill = job_fill_by_size(asks, interval, **rule, largest=4)
        assert fill @ np.array(sizes) == pytest.approx(whole, abs=1e-6)
        assert (np.diff(fill) <= 1e-9).all()

    def test_each_part_has_its_own_law_and_length(self):
        asks = Demand.of([0.1, 9.0], TableSizes.of([0, 0.5, 0.5], [0, 0]))
        rule = {"reorder_point": [2, 60], "order_quantity": [4, 30], "law": [1, 0]}
        interval = Interval.of([3.0, 12.0])
        both = job_fill_by_size(asks, interval, **rule, largest=3)
        for row in (0, 1):
            one = Demand.of(asks.asks_per_day[[row]], TableSizes.of([0, 0.5, 0.5]))
            alone = {name: [values[row]] for name, values in rule.items()}
            found = job_fill_by_size(one, interval, **alone, largest=3)
            assert both[row] == pytest.approx(found[0], abs=1e-7)

    def test_of_very_many_pieces_stays_a_share(self):
        asks = Demand.of([40_000.0], TableSizes.of([0, 1.0]))
        fill = job_fill_by_size(
            asks, Interval.of([3.0]), reorder_point=[121_000], order_quantity=[40_000], largest=4
        )
        assert 0.9 < fill.min() <= fill.max() <= 1

    def test_refuses_a_largest_size_of_none(self):
        asks = Demand.of([1.0], TableSizes.of([0, 1.0]))
        with pytest.raises(ValueError, match=r"^the largest size must be at least 1; got 0$"):
            job_fill_by_size(asks, Interval.of([1.0]), reorder_point=1, order_quantity=1, largest=0)
