"""Prices from costs, never below what was asked for."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.costing.prices import PriceBand, banded_margin, banded_price, price_at_margin

BANDS = [
    PriceBand(up_to_cents=None, markup_percent=40),
    PriceBand(up_to_cents=500, markup_percent=150),
    PriceBand(up_to_cents=2000, markup_percent=80),
]


class TestPriceAtMargin:
    @given(st.integers(0, 10**6), st.integers(0, 99))
    def test_earns_the_margin_and_a_cent_less_would_not(self, cost, margin):
        price = price_at_margin(cost, margin_percent=margin)
        assert (price - cost) * 100 >= margin * price
        assert price == 0 or (price - 1 - cost) * 100 < margin * (price - 1)

    def test_refuses_what_no_price_earns(self):
        with pytest.raises(ValueError, match="no price") as refused:
            price_at_margin(4000, margin_percent=100)
        assert str(refused.value) == "no price earns a margin of 100 %; ask for less than 100"


class TestBandedPrice:
    @pytest.mark.parametrize(
        ("cost", "price"), [(500, 1250), (501, 902), (2000, 3600), (2001, 2802), (0, 0)]
    )
    def test_takes_the_first_band_by_cost_in_whatever_order_they_stand(self, cost, price):
        assert banded_price(cost, BANDS) == price

    def test_refuses_a_cost_above_the_last_band(self):
        with pytest.raises(ValueError, match="no band") as refused:
            banded_price(900, BANDS[1:2])
        assert str(refused.value) == ("no band covers a cost of 900 cents; leave the last one open")


class TestBandedMargin:
    def test_what_last_year_would_have_earned(self):
        # 4 × (12.50 − 5.00) + 1 × (36.00 − 20.00) = 46.00 (computed).
        assert banded_margin([(4, 500), (1, 2000)], BANDS) == 4600
