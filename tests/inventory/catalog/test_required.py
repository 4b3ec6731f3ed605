"""49 CFR 571.138: phase-in dates and scope (published, read)."""

from datetime import date, timedelta
from itertools import combinations_with_replacement

import pytest

from inventory.catalog.required import (
    PHASED_IN_FROM,
    REQUIRED_FROM,
    Requirement,
    days_built,
    requirement,
)


def asked(first, last=None, **fields):
    return requirement(first, last or first, **fields)


class TestRequirement:
    @pytest.mark.parametrize(
        ("built", "said"),
        [
            # The first day of each step and the day before it (published, read).
            (date(2005, 10, 4), Requirement.BEFORE),
            (date(2005, 10, 5), Requirement.MAY_OR_MAY_NOT),
            (date(2006, 9, 1), Requirement.MAY_OR_MAY_NOT),
            (date(2007, 8, 31), Requirement.MAY_OR_MAY_NOT),
            (date(2007, 9, 1), Requirement.REQUIRED),
        ],
    )
    def test_the_days_of_the_rule(self, built, said):
        assert asked(built) == said

    @pytest.mark.parametrize(
        ("first", "last"),
        [
            (date(2007, 1, 2), date(2008, 12, 31)),
            (date(2005, 1, 2), date(2006, 12, 31)),
            (date(2004, 1, 2), date(2010, 12, 31)),
        ],
    )
    def test_a_span_over_a_step_goes_by_the_month(self, first, last):
        assert asked(first, last) == Requirement.BY_MONTH

    @pytest.mark.parametrize(("kg", "heavy"), [(4536, False), (4537, True), (None, False)])
    def test_the_rule_ends_at_its_gross_rating(self, kg, heavy):
        # 4,536 kg (10,000 lb) or less (published, read).
        said = asked(date(2015, 1, 1), rated_weight_kg=kg)
        assert (said == Requirement.TOO_HEAVY) == heavy

    def test_refuses_days_the_wrong_way_round(self):
        with pytest.raises(ValueError, match="must not come after") as refused:
            requirement(date(2010, 1, 2), date(2010, 1, 1))
        assert str(refused.value) == (
            "the first day must not come after the last; got 2010-01-02 and 2010-01-01"
        )

    def test_one_answer_for_a_span_holds_for_each_day_in_it(self):
        steps = (PHASED_IN_FROM, date(2006, 9, 1), REQUIRED_FROM)
        near = sorted(step + timedelta(days=days) for step in steps for days in (-40, -1, 0, 40))
        for first, last in combinations_with_replacement(near, 2):
            each = {asked(day) for day in near if first <= day <= last}
            assert asked(first, last) == (each.pop() if len(each) == 1 else Requirement.BY_MONTH)


class TestDaysBuilt:
    def test_a_model_year_begins_the_year_before(self):
        assert days_built(2008, 2010, None, None) == (date(2007, 1, 2), date(2010, 12, 31))

    def test_months_narrow_it_to_their_last_day(self):
        span = days_built(2008, 2010, date(2007, 9, 1), date(2008, 2, 1))
        assert span == (date(2007, 9, 1), date(2008, 2, 29))

    def test_months_that_contradict_the_years_are_no_error(self):
        assert days_built(2010, 2010, None, date(2001, 2, 1)) == (
            date(2009, 1, 2),
            date(2009, 1, 2),
        )
