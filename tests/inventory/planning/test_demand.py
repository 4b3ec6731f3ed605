import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from inventory.planning.demand import Demand, LogarithmicSizes, TableSizes, interval_demand
from inventory.planning.interval import Interval


def convolved(mean, sizes, points):
    """Compound Poisson by adding up the laws of 0, 1, 2 … asks."""
    total, power = np.zeros(points), np.eye(1, points)[0]
    for asks in range(200):
        total += stats.poisson.pmf(asks, mean) * power
        power = np.convolve(power, sizes)[:points]
    return total


class TestIntervalDemand:
    @pytest.mark.parametrize("rate", [0.05, 0.5, 3.0])
    def test_is_the_sum_over_how_many_ask(self, rate):
        sizes = [0, 0.5, 0.1, 0, 0.4]
        law = interval_demand(
            Demand.of([rate], TableSizes.of(sizes)), Interval.of([2.0]), points=40
        )
        assert law.pmf_from_0[0] == pytest.approx(convolved(2 * rate, sizes, 40), abs=1e-9)

    def test_of_a_rough_rate_and_single_pieces_is_negative_binomial(self):
        # scipy.stats.nbinom as the authority.
        law = interval_demand(
            Demand.of([0.3], TableSizes.of([0, 1.0]), rate_shape=[2.5]),
            Interval.of([10.0]),
            points=30,
        )
        expected = stats.nbinom.pmf(np.arange(30), 2.5, 2.5 / (2.5 + 3.0))
        assert law.pmf_from_0[0] == pytest.approx(expected, abs=1e-9)

    def test_of_logarithmic_sizes_and_a_known_rate_is_negative_binomial_too(self):
        # Quenouille 1949: Poisson asks of logarithmic sizes total negative binomial.
        p, r = 0.4, 1.7
        rate = -r * np.log1p(-p)
        law = interval_demand(
            Demand.of([rate], LogarithmicSizes.of([p])), Interval.of([1.0]), points=30
        )
        assert law.pmf_from_0[0] == pytest.approx(
            stats.nbinom.pmf(np.arange(30), r, 1 - p), abs=1e-9
        )

    @settings(max_examples=25, deadline=None)
    @given(rate=st.floats(0, 2), lead=st.floats(0, 20), shape=st.floats(0.3, 50))
    def test_is_a_law(self, rate, lead, shape):
        law = interval_demand(
            Demand.of([rate], TableSizes.of([0, 0.7, 0, 0, 0.3]), rate_shape=[shape]),
            Interval.of([lead], review_days=7.0),
            points=200,
        )
        assert law.pmf_from_0.min() > -1e-9
        assert law.pmf_from_0.sum() <= 1 + 1e-8
        assert law.mean[0] == pytest.approx(rate * 1.9 * (lead + 3.5))


class TestTableSizes:
    def test_refuses_an_ask_for_nothing(self):
        with pytest.raises(ValueError, match="an ask is for at least one piece"):
            TableSizes.of([0.1, 0.9])
