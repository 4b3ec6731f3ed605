import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.planning.demand import Demand, TableSizes, interval_demand
from inventory.planning.interval import Interval
from inventory.planning.pooling import Streams, pooled

SIZES = np.array([[0, 0.5, 0.5, 0], [0, 1.0, 0, 0], [0, 0, 0, 1.0]])


def streams(rates, variances=(0.0, 0.0, 0.0)):
    return Streams(
        asks_per_day=np.array(rates), rate_variance=np.array(variances), sizes=SIZES[: len(rates)]
    )


def law(found, points=30):
    demand = Demand.of(found.asks_per_day, TableSizes.of(found.sizes), rate_shape=found.rate_shape)
    return interval_demand(demand, Interval.of([3.0]), points=points)


class TestStreams:
    def test_a_known_rate_and_a_shelf_nobody_asks_have_no_shape(self):
        shape = streams([2.0, 0.0, 3.0], [0.5, 0.5, 0.0]).rate_shape
        assert shape.tolist() == [8.0, np.inf, np.inf]


class TestPooled:
    def test_of_known_rates_is_the_sum_of_their_demands(self):
        # Exact: the sum of independent compound Poisson demands, by convolution.
        own = streams([0.4, 0.7, 0.1])
        convolved = np.array([1.0])
        for one in law(own).pmf_from_0:
            convolved = np.convolve(convolved, one)
        together = law(pooled(own, [0, 0, 0], shelves=1))
        assert together.pmf_from_0[0] == pytest.approx(convolved[:30], abs=1e-9)

    def test_of_rough_rates_has_the_mean_and_variance_of_the_sum(self):
        own = streams([0.4, 0.7, 0.1], [0.02, 0.1, 0.005])
        # Sizes alike, so that a swing of one rate is worth as much as one of another.
        alike = Streams(
            asks_per_day=own.asks_per_day,
            rate_variance=own.rate_variance,
            sizes=np.repeat(SIZES[:1], 3, axis=0),
        )
        alone, together = law(alike), law(pooled(alike, [0, 0, 0], shelves=1))
        assert together.mean[0] == pytest.approx(alone.mean.sum())
        assert together.variance[0] == pytest.approx(alone.variance.sum())

    def test_shelves_stay_apart_and_one_nobody_asks_wants_single_pieces(self):
        found = pooled(streams([0.4, 0.7, 0.1]), [2, 0, 2], shelves=3)
        assert found.asks_per_day.tolist() == [0.7, 0.0, 0.5]
        assert found.sizes[1].tolist() == [0, 1, 0, 0]
        assert found.sizes[2] == pytest.approx([0, 0.4, 0.4, 0.2])

    @given(rates=st.lists(st.floats(0, 50), min_size=3, max_size=3), to=st.permutations([0, 1, 1]))
    def test_loses_no_asks_and_no_pieces(self, rates, to):
        own = streams(rates)
        found = pooled(own, to, shelves=2)
        pieces = np.arange(SIZES.shape[1])
        assert found.asks_per_day.sum() == pytest.approx(sum(rates))
        assert found.asks_per_day @ (found.sizes @ pieces) == pytest.approx(
            own.asks_per_day @ (own.sizes @ pieces)
        )

    def test_refuses_a_shelf_that_is_not_there(self):
        with pytest.raises(ValueError, match=r"^each stream needs one of 2 shelves; got 2$"):
            pooled(streams([1.0]), [2], shelves=2)
