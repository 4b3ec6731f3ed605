"""Textbook definitions; worked values published in the trade press (published, read)."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.costing.ratios import gmroi, margin_and_markup, mean_stock, stock_turns


class TestMarginAndMarkup:
    def test_bought_at_40_sold_at_60(self):
        answer = margin_and_markup(price=6000, cost=4000)
        assert answer.margin == pytest.approx(1 / 3)
        assert answer.markup == 0.5

    def test_given_away_has_no_margin_to_state(self):
        assert margin_and_markup(price=0, cost=4000).margin is None
        assert margin_and_markup(price=0, cost=4000).markup == -1

    def test_costs_nothing_has_no_markup_to_state(self):
        assert margin_and_markup(price=6000, cost=0).markup is None

    @given(st.integers(1, 10**7), st.integers(1, 10**7))
    def test_margin_and_markup_tell_the_same_story(self, price, cost):
        answer = margin_and_markup(price=price, cost=cost)
        assert answer.margin is not None
        assert answer.markup is not None
        assert (1 - answer.margin) * (1 + answer.markup) == pytest.approx(1)


class TestGmroi:
    def test_worked_value(self):
        assert gmroi(gross_margin=129_500, mean_stock=83_000) == pytest.approx(1.56, abs=0.005)

    def test_blank_without_stock(self):
        assert gmroi(gross_margin=129_500, mean_stock=0) is None


class TestStockTurns:
    def test_worked_value(self):
        answer = stock_turns(cost_of_goods=600_000, mean_stock=120_000)
        assert answer.turns == 5
        assert answer.days == pytest.approx(73)

    def test_blank_without_stock_and_no_days_without_sales(self):
        assert stock_turns(cost_of_goods=600_000, mean_stock=0).turns is None
        assert stock_turns(cost_of_goods=0, mean_stock=120_000).turns == 0
        assert stock_turns(cost_of_goods=0, mean_stock=120_000).days is None


CHANGES = st.lists(st.tuples(st.integers(-9, 40), st.integers(-500, 500)), max_size=12)


class TestMeanStock:
    @given(CHANGES, st.integers(1, 30), st.integers(0, 5000))
    def test_agrees_with_the_mean_of_the_closes_day_by_day(self, changes, days, now):
        since = [(day, cents) for day, cents in changes if day >= 0]
        closes = [now - sum(c for d, c in since if d > day) for day in range(days)]
        assert mean_stock(now, since, days=days) == pytest.approx(sum(closes) / days)

    def test_refuses_no_day(self):
        with pytest.raises(ValueError, match="a mean needs at least one day; got 0"):
            mean_stock(0, [], days=0)
