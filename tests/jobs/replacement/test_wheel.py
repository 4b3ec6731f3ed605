"""What cannot be is refused before anything is reckoned."""

import pytest

from tests.jobs.replacement.cast import clamp_in, part


class TestWheel:
    def test_refuses_a_tire_change_that_is_due_already(self):
        with pytest.raises(ValueError, match="above 0") as refused:
            clamp_in(years_to_tire_change=0)
        assert str(refused.value) == "years to the next tire change must be above 0; got 0"

    def test_refuses_no_visits(self):
        with pytest.raises(ValueError, match="at least 1") as refused:
            clamp_in(visits_left=0)
        assert str(refused.value) == ("visits left and wheels sharing a re-learn are at least 1")

    def test_refuses_an_age_before_birth(self):
        with pytest.raises(ValueError, match="age of a part") as refused:
            clamp_in(body=part("body", -1))
        assert str(refused.value) == "the age of a part is at least 0 years"
