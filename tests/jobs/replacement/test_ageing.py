"""Ages from dated intervals; stored years count for less."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.replacement.ageing import age_years

START = date(2020, 1, 1)
DAYS = st.integers(0, 3000).map(lambda days: START + timedelta(days=days))
INTERVALS = st.lists(st.tuples(DAYS, DAYS).map(sorted).map(tuple), max_size=6)


def day_by_day(since, until, stored, pace):
    aged = 0.0
    for number in range((until - since).days):
        day = since + timedelta(days=number)
        aged += pace if any(first <= day < last for first, last in stored) else 1.0
    return aged / 365.25


class TestAgeYears:
    def test_on_the_road_a_year_is_a_year(self):
        assert age_years(date(2020, 1, 1), date(2028, 1, 1)) == 8.0

    def test_six_stored_months_a_year_take_a_fifth_off(self):
        # 0.5 + 0.5 × 0.6 = 0.8 of a year each year (computed).
        winters = [(date(year, 4, 1), date(year, 10, 1)) for year in range(2020, 2028)]
        age = age_years(date(2020, 1, 1), date(2028, 1, 1), stored=winters)
        assert age == pytest.approx(6.4, abs=0.01)

    def test_a_wheel_still_stored_goes_on_ageing_slowly(self):
        age = age_years(START, date(2024, 1, 1), stored=[(date(2022, 1, 1), None)])
        assert age == pytest.approx(2 + 2 * 0.6, abs=0.01)

    @given(st.tuples(DAYS, DAYS).map(sorted), INTERVALS, st.sampled_from([0.0, 0.6, 1.0]))
    def test_as_counted_day_by_day(self, days, stored, pace):
        since, until = days
        answer = age_years(since, until, stored=stored, pace=pace)
        assert answer == pytest.approx(day_by_day(since, until, stored, pace))

    def test_refuses_to_look_before_it_was_fitted(self):
        with pytest.raises(ValueError, match="earlier") as refused:
            age_years(date(2024, 1, 1), date(2023, 1, 1))
        assert str(refused.value) == (
            "a part fitted on 2024-01-01 has no age on 2023-01-01, which is earlier"
        )

    def test_refuses_a_pace_above_one(self):
        with pytest.raises(ValueError, match="stored year") as refused:
            age_years(START, START, pace=1.5)
        assert str(refused.value) == "a stored year ages a part by 0 to 1 year; got 1.5"
