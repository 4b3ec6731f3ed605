from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.workshop.ages import Span, Stay, chain, years_lived

START = date(2018, 1, 1)


def _day_by_day(stays, on, rate):
    """The definition, counted one day at a time."""
    day, lived = stays[0].span.since, 0.0
    while day < on:
        rolling = any(
            stay.span.since <= day < (stay.span.until or date.max)
            and not any(s.since <= day < (s.until or date.max) for s in stay.stored)
            for stay in stays
        )
        lived += 1.0 if rolling else rate
        day += timedelta(days=1)
    return lived / 365.25


class TestYearsLived:
    def test_a_wheel_that_always_rolled_is_as_old_as_the_calendar_says(self):
        stay = Stay(span=Span(START, None))
        assert years_lived([stay], START + timedelta(days=1461)) == pytest.approx(4.0)

    def test_a_winter_set_stored_half_the_year_ages_at_four_fifths(self):
        # Half of the days in full, half at 0.6: 0.5 + 0.5 × 0.6 = 0.8.
        stored = [
            Span(START + timedelta(days=200 * n + 100), START + timedelta(days=200 * n + 200))
            for n in range(10)
        ]
        stay = Stay(span=Span(START, None), stored=stored)
        assert years_lived([stay], START + timedelta(days=2000)) == pytest.approx(
            0.8 * 2000 / 365.25
        )

    def test_a_body_moved_to_another_rim_goes_on_ageing(self):
        moved = START + timedelta(days=300)
        stays = [Stay(span=Span(START, moved)), Stay(span=Span(moved, None))]
        assert years_lived(stays, START + timedelta(days=731)) == pytest.approx(731 / 365.25)

    def test_days_between_two_rims_count_as_stored(self):
        off, back = START + timedelta(days=100), START + timedelta(days=200)
        stays = [Stay(span=Span(START, off)), Stay(span=Span(back, None))]
        assert years_lived(stays, START + timedelta(days=300)) == pytest.approx(260 / 365.25)

    def test_nothing_is_older_than_new_on_its_first_day(self):
        assert years_lived([Stay(span=Span(START, None))], START) == 0.0
        assert years_lived([], START) == 0.0

    @given(
        st.lists(st.tuples(st.integers(1, 90), st.integers(0, 30)), min_size=1, max_size=4),
        st.lists(st.tuples(st.integers(0, 60), st.integers(1, 60)), max_size=3),
        st.integers(0, 500),
        st.floats(0, 1),
    )
    def test_agrees_with_counting_the_days(self, lengths, stored, on, rate):
        stays, day = [], START
        for length, gap in lengths:
            spans, at = [], day
            for skip, away in stored:
                at += timedelta(days=skip)
                spans.append(Span(at, at + timedelta(days=away)))
                at += timedelta(days=away)
            stays.append(Stay(span=Span(day, day + timedelta(days=length)), stored=spans))
            day += timedelta(days=length + gap)
        last = stays[-1]
        stays[-1] = Stay(span=Span(last.span.since, None), stored=last.stored)
        end = START + timedelta(days=on)
        assert years_lived(stays, end, stored_rate=rate) == pytest.approx(
            _day_by_day(stays, end, rate) if end > START else 0.0
        )


class TestChain:
    def test_walks_back_to_the_first_rim(self):
        assert chain(3, {3: 2, 2: 1, 1: None}) == [1, 2, 3]
