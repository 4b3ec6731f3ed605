import numpy as np

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
