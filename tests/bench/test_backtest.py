"""The short form of the backtest: our planner alone, on the scored year."""

import numpy as np
import pytest

from tests.bench.backtest import backtest, complete_series, lively_series, our_levels

TARGETS = (0.90, 0.91, 0.92, 0.93, 0.95, 0.98)


class TestBacktest:
    def test_the_series_are_those_of_the_published_counts(self):
        # 2,509 complete series, 1,046 of them lively: Hyndman et al. (2008).
        assert (len(complete_series()), len(lively_series())) == (2509, 1046)

    @pytest.mark.parametrize(("series", "most"), [(lively_series, 3.875), (complete_series, 4.80)])
    def test_holds_little_stock_at_equal_fill(self, series, most):
        """3.87 and 5.17: a smoothed mean with a half-pooled shape, computed beforehand, to 0.01."""
        found = backtest(series(), our_levels(TARGETS))
        assert found.stock_at_equal_fill <= most
        under = np.array(TARGETS) - found.fill
        assert under.max() <= 0.01

    def test_more_stock_serves_more(self):
        found = backtest(lively_series()[::10], our_levels(TARGETS))
        assert (np.diff(found.fill) >= 0).all()
        assert (np.diff(found.stock) > 0).all()
