import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.planning.price_rise import buy_ahead


def piece_by_piece(cost, rise, rate, demand, there):
    """The same by looking at one piece after the other, as a person would."""
    saving, pieces, number = 0.0, 0, there + 1
    while demand and rise - rate * cost * number / demand > 1e-9:
        saving += rise - rate * cost * number / demand
        pieces, number = pieces + 1, number + 1
    return pieces, saving


class TestBuyAhead:
    @given(
        cost=st.integers(1, 9_000),
        rise=st.integers(0, 900),
        rate=st.sampled_from([0.1, 0.25, 0.5]),
        demand=st.sampled_from([0.0, 0.5, 3.0, 52.0, 208.0]),
        there=st.integers(0, 30),
    )
    def test_agrees_with_looking_at_each_piece(self, cost, rise, rate, demand, there):
        answer = buy_ahead(
            unit_cost=cost, rise=rise, holding_rate=rate, demand_per_year=demand, position=there
        )
        pieces, saving = piece_by_piece(cost, rise, rate, demand, there)
        assert answer.pieces[0] == pieces
        assert answer.saving[0] == pytest.approx(saving, abs=1e-6)

    def test_a_piece_that_breaks_even_is_left(self):
        # 50 a year, 1.00 against 20.00 at 25 %: the 10th is used after 0.2 years and costs 1.00.
        answer = buy_ahead(unit_cost=20, rise=1, holding_rate=0.25, demand_per_year=50, position=0)
        assert answer.pieces.tolist() == [9]

    def test_only_whole_packs_are_bought(self):
        answer = buy_ahead(
            unit_cost=20, rise=1, holding_rate=0.25, demand_per_year=50, position=0, pack=[4, 10]
        )
        assert answer.pieces.tolist() == [8, 0]

    def test_nothing_is_bought_that_would_be_too_old(self):
        facts = {"unit_cost": 1, "rise": 9, "holding_rate": 0.1, "demand_per_year": 10}
        answer = buy_ahead(**facts, position=0, keeps_years=2)
        assert (answer.pieces.tolist(), answer.years_worth.tolist()) == ([19], [2.0])

    def test_what_is_owed_counts_as_nothing_there(self):
        facts = {"unit_cost": 20, "rise": 1, "holding_rate": 0.25, "demand_per_year": 50}
        owed, none = (buy_ahead(**facts, position=there) for there in (-3, 0))
        assert np.array_equal(owed.pieces, none.pieces)

    def test_refuses_a_price_of_nothing(self):
        with pytest.raises(ValueError, match="unit cost must be above 0; got"):
            buy_ahead(unit_cost=0, rise=1, holding_rate=0.25, demand_per_year=1, position=0)
