import numpy as np
import pytest

from inventory.planning.usage import usage
from inventory.reorder.inputs.days import days_by_week, days_seen


def seen(moves, *, logged_from=99, n_days=14):
    """Days on which one part was seen; `moves` are (day, pieces)."""
    day, pieces = np.array(moves, dtype=np.int64).reshape(-1, 2).T
    found = days_seen(
        row=np.zeros(len(day), dtype=np.int64),
        day=day,
        pieces=pieces,
        logged_from=np.array([min(logged_from, n_days)]),
        n_days=n_days,
    )
    return "".join("x" if there else "." for there in found[0])


class TestDaysSeen:
    def test_a_part_counts_from_the_opening_after_it_came(self):
        assert seen([(2, 5)], n_days=7) == "...xxxx"

    def test_a_stock_out_is_not_seen_until_new_stock_opens_the_day(self):
        assert seen([(0, 1), (2, -1), (4, 3)], n_days=7) == ".xx..xx"

    def test_what_came_before_the_history_is_there_on_its_first_day(self):
        assert seen([(-400, 2)], n_days=7) == "xxxxxxx"

    def test_where_lost_asks_are_written_down_every_day_is_seen(self):
        assert seen([(0, 1), (1, -1)], logged_from=4, n_days=7) == ".x..xxx"

    def test_what_happens_after_the_history_changes_nothing(self):
        assert seen([(0, 1), (30, -1)], n_days=7) == ".xxxxxx"

    def test_each_row_has_its_own_shelf(self):
        found = days_seen(
            row=np.array([2, 0, 2]),
            day=np.array([0, 1, 3]),
            pieces=np.array([1, 1, -1]),
            logged_from=np.array([7, 7, 7]),
            n_days=7,
        )
        assert found.sum(axis=1).tolist() == [5, 0, 3]


class TestDaysByWeek:
    def test_adds_up_by_week(self):
        days = np.zeros((1, 14), dtype=bool)
        days[0, 5:9] = True
        assert days_by_week(days).tolist() == [[2, 2]]


WEEKS, PARTS, ASKS_A_DAY = 156, 300, 0.13


def sold_out_half_of_the_time(rng):
    """Days of the history by part: asks made, pieces that moved, and whether the shelf opened bare.

    Five pieces come, sell one by one, and the shelf then stays bare as long as they lasted.
    """
    days = 7 * WEEKS
    asks = rng.poisson(ASKS_A_DAY, (PARTS, days))
    moved, bare = np.zeros((PARTS, days), dtype=np.int64), np.zeros((PARTS, days), dtype=bool)
    shelf, since, until = np.full(PARTS, 5), np.zeros(PARTS), np.zeros(PARTS)
    moved[:, 0] = 5
    for day in range(1, days):
        bare[:, day] = shelf == 0
        sold = np.minimum(asks[:, day], shelf)
        moved[:, day] -= sold
        shelf = shelf - sold
        out = (shelf == 0) & (sold > 0)
        until[out] = 2 * day - since[out]
        came = (shelf == 0) & (day >= until)
        moved[came, day] += 5
        shelf[came], since[came] = 5, day
    return asks, moved, bare


class TestRateThroughStockOuts:
    """Bare half of the time, the true rate is found within 5 %, lost asks written down or not."""

    @pytest.mark.parametrize("logged", [False, True])
    def test_the_true_rate_is_found(self, logged):
        asks, moved, bare = sold_out_half_of_the_time(np.random.default_rng(12))
        assert 0.4 < bare.mean() < 0.6
        row, day = np.nonzero(moved)
        n_days = asks.shape[1]
        found = days_seen(
            row=row,
            day=day,
            pieces=moved[row, day],
            logged_from=np.full(PARTS, 0 if logged else n_days),
            n_days=n_days,
        )
        # Without a log only what was sold is known, and asks on bare days are nobody's.
        known = asks if logged else -np.minimum(moved, 0)
        weekly = np.where(found, known, 0).reshape(PARTS, WEEKS, 7).sum(axis=2)
        learned = usage(weekly, days_by_week(found), group=np.zeros(PARTS, dtype=int))
        assert learned.rate.mean_rate.mean() == pytest.approx(ASKS_A_DAY, rel=0.05)
        naive = usage(weekly, np.full((PARTS, WEEKS), 7.0), group=np.zeros(PARTS, dtype=int))
        if not logged:
            assert naive.rate.mean_rate.mean() < 0.65 * ASKS_A_DAY
