"""Rates with their intervals; comparisons among cases alike."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from statsmodels.stats.contingency_tables import StratifiedTable
from statsmodels.stats.proportion import proportion_confint

from jobs.costing.rates import Stratum, adjusted_ratio, rate


class TestRate:
    def test_one_of_three_is_not_a_third(self):
        # Wilson 1927: (p + z²/2n ± z√(p(1−p)/n + z²/4n²)) / (1 + z²/n), by hand.
        z, n, p = 1.959964, 3, 1 / 3
        middle, width = p + z**2 / 6, z * np.sqrt(p * (1 - p) / n + z**2 / 36)
        answer = rate(1, 3)
        assert answer.low == pytest.approx((middle - width) / (1 + z**2 / n), rel=1e-6)
        assert answer.high == pytest.approx((middle + width) / (1 + z**2 / n), rel=1e-6)

    @given(st.integers(1, 400), st.data())
    def test_agrees_with_statsmodels(self, cases, data):
        happened = data.draw(st.integers(0, cases))
        low, high = proportion_confint(happened, cases, method="wilson")
        answer = rate(happened, cases)
        assert answer.low == pytest.approx(low, abs=1e-9)
        assert answer.high == pytest.approx(high, abs=1e-9)

    def test_no_case_no_rate(self):
        answer = rate(0, 0)
        assert answer.rate is answer.low is answer.high is None

    def test_refuses_more_events_than_cases(self):
        with pytest.raises(ValueError, match="cannot have happened") as refused:
            rate(4, 3)
        assert str(refused.value) == "of 3 cases, 4 cannot have happened"

    @given(st.integers(1, 400), st.data())
    def test_the_interval_holds_the_rate(self, cases, data):
        answer = rate(data.draw(st.integers(0, cases)), cases)
        assert answer.low is not None
        assert answer.high is not None
        assert answer.rate is not None
        assert answer.low - 1e-12 <= answer.rate <= answer.high + 1e-12


def strata(rows):
    names = ("happened_a", "cases_a", "happened_b", "cases_b")
    return [Stratum(**dict(zip(names, row, strict=True))) for row in rows]


def adjusted(rows):
    answer = adjusted_ratio(strata(rows))
    assert answer is not None
    return answer


class TestAdjustedRatio:
    def test_one_stratum_is_the_plain_ratio(self):
        assert adjusted([(8, 80, 5, 100)]).ratio == pytest.approx(2)

    def test_old_stems_do_not_count_against_the_action_used_on_them(self):
        # With each age the same rate for both; a is used on old stems, b on young ones. The crude
        # ratio would be (19/110)/(10/110) = 1.9 (computed).
        answer = adjusted([(1, 20, 4, 80), (18, 90, 6, 30)])
        assert answer.ratio == pytest.approx(1)

    def test_agrees_with_the_pooled_ratio_of_statsmodels(self):
        rows = [(1, 20, 4, 80), (18, 90, 6, 30), (5, 25, 3, 43)]
        tables = [np.array([[a, n - a], [b, m - b]]) for a, n, b, m in rows]
        assert adjusted(rows).ratio == pytest.approx(StratifiedTable(tables).riskratio_pooled)

    def test_nothing_to_compare(self):
        assert adjusted_ratio([]) is None
        assert adjusted_ratio(strata([(3, 10, 0, 10)])) is None
        assert adjusted_ratio(strata([(3, 10, 0, 0), (0, 0, 2, 10)])) is None

    def test_the_interval_covers_the_true_ratio_nineteen_times_in_twenty(self):
        rng = np.random.default_rng(11)
        cases_a, cases_b = np.array([60, 90, 120]), np.array([120, 80, 60])
        rates = np.array([0.05, 0.1, 0.2])
        covered = 0
        for _ in range(400):
            seen_a, seen_b = rng.binomial(cases_a, 1.5 * rates), rng.binomial(cases_b, rates)
            rows = zip(seen_a, cases_a, seen_b, cases_b, strict=True)
            answer = adjusted([tuple(map(int, row)) for row in rows])
            covered += answer.low <= 1.5 <= answer.high
        assert 0.92 <= covered / 400 <= 0.98
