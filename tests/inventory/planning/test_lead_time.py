import numpy as np
import pytest

from inventory.planning.lead_time import (
    lead_time_chances,
    order_day_wait_chances,
    order_interval,
)

MONDAY = [True, False, False, False, False, False, False]
WEEKDAYS = [True] * 5 + [False] * 2


class TestLeadTimeChances:
    def test_without_deliveries_is_the_stated_time(self):
        assert lead_time_chances([[0, 0, 0]], stated_days=[1]).tolist() == [[0, 1, 0]]

    def test_with_many_deliveries_is_what_was_seen(self):
        found = lead_time_chances([[0, 300, 700]], stated_days=[0])
        assert found[0] == pytest.approx([0, 0.3, 0.7], abs=0.005)

    def test_refuses_a_stated_time_beyond_the_table(self):
        with pytest.raises(ValueError, match=r"^stated lead time must be below 3 days; got 9$"):
            lead_time_chances([[0, 0, 0]], stated_days=[9])


class TestOrderDayWaitChances:
    @pytest.mark.parametrize(
        "days", [MONDAY, WEEKDAYS, [1, 0, 0, 1, 0, 0, 0], [0, 1, 1, 0, 0, 0, 1], [True] * 7]
    )
    def test_is_the_wait_of_moments_spread_over_the_week(self, days):
        moments = np.random.default_rng(1).uniform(0, 7, 100_000)
        order_days = np.flatnonzero(days)
        waits = ((order_days - moments[:, None]) % 7).min(axis=1)
        seen = np.bincount(waits.astype(int), minlength=7) / len(moments)
        assert order_day_wait_chances([days])[0] == pytest.approx(seen, abs=0.01)

    def test_refuses_a_supplier_without_an_order_day(self):
        with pytest.raises(ValueError, match="at least one of them an order day"):
            order_day_wait_chances([[False] * 7])


class TestOrderInterval:
    def test_adds_the_means_and_the_variances(self):
        lead = np.array([[0.2, 0.5, 0.0, 0.3], [0.0, 0.0, 1.0, 0.0]])
        wait = order_day_wait_chances([MONDAY, WEEKDAYS])
        found = order_interval(lead, wait)
        days, weekly = np.arange(4), np.arange(7)
        mean = lead @ days + wait @ weekly + 0.5
        assert found.mean_days == pytest.approx(mean)
        spread = lead @ days**2 - (lead @ days) ** 2 + wait @ weekly**2 - (wait @ weekly) ** 2
        assert found.variance_days == pytest.approx(spread + 1 / 12)

    def test_of_one_order_day_a_week_is_a_uniform_week(self):
        found = order_interval([[1.0]], order_day_wait_chances([MONDAY]))
        days, weights = found.nodes(6)
        for power in range(1, 8):
            assert weights[0] @ days[0] ** power == pytest.approx(7.0**power / (power + 1))

    def test_refuses_laws_of_different_suppliers(self):
        with pytest.raises(ValueError, match=r"^1 suppliers have lead times, 2 have order days$"):
            order_interval([[1.0]], order_day_wait_chances([MONDAY, WEEKDAYS]))
