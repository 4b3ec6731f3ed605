import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays
from scipy import stats

from inventory.planning.demand import interval_demand
from inventory.planning.interval import Interval
from inventory.planning.totals import totals_usage

YEARS = 12 * 30


def seen(rng, mean, ratio, parts, periods=YEARS):
    """Negative binomial totals of a given mean and variance ratio."""
    shape = mean / (ratio - 1)
    return rng.negative_binomial(shape, 1 / ratio, (parts, periods)).astype(float)


class TestTotalsUsage:
    def test_finds_mean_and_variance_of_long_histories(self):
        rng = np.random.default_rng(1)
        table = np.concatenate([seen(rng, 0.5, 2.0, 30), seen(rng, 8.0, 3.0, 30)])
        learned = totals_usage(table, half_life_periods=120)
        slow, busy = learned.pieces_per_period[:30], learned.pieces_per_period[30:]
        assert slow.mean() == pytest.approx(0.5, rel=0.1)
        assert busy.mean() == pytest.approx(8.0, rel=0.05)
        # Leaning on each other moves the two ratios together, but not past each other.
        assert 1.9 < learned.variance_ratio[:30].mean() < learned.variance_ratio[30:].mean() < 3.1

    def test_implied_asks_and_sizes_give_the_negative_binomial_totals_back(self):
        # Quenouille (1949): Poisson asks of logarithmic sizes are negative binomial; scipy.stats.
        learned = totals_usage(seen(np.random.default_rng(2), 2.0, 2.5, 5), half_life_periods=1e9)
        known = learned.demand(period_days=1)
        known = type(known)(
            asks_per_day=known.asks_per_day, rate_shape=np.full(5, np.inf), sizes=known.sizes
        )
        law = interval_demand(known, Interval.of([1.0]), points=30).pmf_from_0
        for part in range(5):
            mean, ratio = learned.pieces_per_period[part], learned.variance_ratio[part]
            exact = stats.nbinom.pmf(np.arange(30), mean / (ratio - 1), 1 / ratio)
            assert law[part] == pytest.approx(exact, abs=1e-9)

    def test_forgets_what_lies_far_back(self):
        table = np.concatenate([np.full((1, 60), 9.0), np.full((1, 60), 1.0)], axis=1)
        assert totals_usage(table, half_life_periods=6).pieces_per_period[0] < 1.2

    def test_a_single_large_total_counts_as_ten_usual_ones(self):
        table = np.ones((1, 60))
        table[0, -1] = 141  # the mean is then 200 / 60
        learned = totals_usage(table, half_life_periods=1e9)
        assert learned.remembered_pieces[0] == pytest.approx(59 + 10 * 200 / 60)

    def test_a_missing_period_is_no_period_without_usage(self):
        table = np.array([[2.0, np.nan, 2.0, np.nan], [2.0, 2.0, 2.0, 2.0], [1.0, 3.0, 1.0, 3.0]])
        learned = totals_usage(table, half_life_periods=1e9)
        assert learned.remembered_periods == pytest.approx([2, 4, 4])
        assert learned.pieces_per_period[0] == pytest.approx(2.0)

    def test_a_part_without_a_known_period_starts_from_the_others(self):
        table = np.array([[2.0, 1.0, 3.0], [1.0, 1.0, 4.0], [np.nan] * 3])
        learned = totals_usage(table, half_life_periods=1e9)
        assert learned.pieces_per_period[2] == pytest.approx(2.0)
        assert learned.variance_ratio[2] > 1

    def test_a_table_without_usage_has_a_rate_of_0(self):
        learned = totals_usage(np.zeros((3, 12)), half_life_periods=12)
        assert learned.pieces_per_period.tolist() == [0, 0, 0]
        assert learned.asks_per_period.tolist() == [0, 0, 0]

    @settings(max_examples=50, deadline=None)
    @given(
        arrays.arrays(
            float,
            st.tuples(st.integers(1, 5), st.integers(1, 8)),
            elements=st.one_of(st.integers(0, 50_000).map(float), st.just(float("nan"))),
        )
    )
    def test_any_table_gives_laws_that_can_be_planned_with(self, table):
        learned = totals_usage(table, half_life_periods=8)
        assert np.isfinite(learned.pieces_per_period).all()
        assert (learned.variance_ratio > 1).all()
        assert (learned.rate_shape > 0).all()
        learned.demand(period_days=30)

    @pytest.mark.parametrize(
        ("table", "half_life", "sentence"),
        [
            ([[1, -2]], 12, "pieces must not be negative; got -2"),
            ([[1, np.inf]], 12, "pieces must be finite numbers; got inf"),
            ([[1, 2]], 0, "half-life must be above 0 periods; got 0"),
        ],
    )
    def test_refuses_at_the_door(self, table, half_life, sentence):
        with pytest.raises(ValueError, match=f"^{sentence}$"):
            totals_usage(table, half_life_periods=half_life)
