"""Whole cents shared out: nothing lost, nothing off by more than one."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.costing.cents import for_days, net_of_tax, rounded_to_total, shared_out, with_tax

FRACTIONS = st.builds(Fraction, st.integers(-(10**6), 10**6), st.integers(1, 999))


class TestRoundedToTotal:
    @given(st.lists(FRACTIONS, min_size=1, max_size=20))
    def test_sums_to_the_rounded_total_and_no_amount_moves_by_a_cent(self, amounts):
        cents = rounded_to_total(amounts)
        assert abs(sum(cents) - sum(amounts)) <= Fraction(1, 2)
        assert all(abs(c - a) < 1 for c, a in zip(cents, amounts, strict=True))


class TestSharedOut:
    @given(st.integers(-(10**7), 10**7), st.lists(st.integers(0, 500), min_size=1, max_size=30))
    def test_loses_nothing(self, cents, weights):
        assert sum(shared_out(cents, weights)) == cents

    def test_shares_by_weight(self):
        assert shared_out(1000, [3, 1]) == [750, 250]

    def test_shares_equally_where_nothing_weighs(self):
        assert shared_out(7, [0, 0]) == [4, 3]

    def test_refuses_to_share_among_nobody(self):
        with pytest.raises(ValueError, match="nobody") as refused:
            shared_out(1000, [])
        assert str(refused.value) == "1000 cents cannot be shared out among nobody"

    def test_refuses_a_weight_below_zero(self):
        with pytest.raises(ValueError, match="less than 0") as refused:
            shared_out(1000, [2, -1])
        assert str(refused.value) == "a share cannot weigh less than 0; got -1"


class TestNetOfTax:
    def test_takes_the_tax_out(self):
        # 119.00 with 19 % is 100.00 without (computed).
        assert net_of_tax(11900, 190) == 10000

    @given(st.integers(0, 10**7), st.integers(0, 400))
    def test_putting_it_back_is_right_to_the_cent(self, net, tax):
        gross = round(Fraction(net * (1000 + tax), 1000))
        assert abs(net_of_tax(gross, tax) - net) <= 1


class TestForDays:
    @pytest.mark.parametrize(("days", "cents"), [(365, 120000), (30, 9863), (1, 329), (0, 0)])
    def test_is_the_year_by_its_days(self, days, cents):
        # 1,200.00 a year is 3.2877 a day (computed by hand).
        assert for_days(120000, days) == cents


class TestWithTax:
    @given(st.integers(0, 10**6), st.integers(0, 999))
    def test_is_the_lowest_price_that_leaves_so_much(self, net, tax):
        gross = with_tax(net, tax)
        assert net_of_tax(gross, tax) >= net
        assert (gross - 1) * 1000 < net * (1000 + tax) <= gross * 1000
