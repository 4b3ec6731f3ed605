from datetime import date

import pytest

from inventory.shop.amounts import (
    amount_text,
    day_text,
    money_text,
    month_text,
    pressure_text,
    torque_text,
)
from inventory.shop.models import ShopSettings


class TestMoneyText:
    @pytest.mark.parametrize(
        ("cents", "currency", "digits", "text"),
        [
            (123456, "USD", 2, "$1,234.56"),
            (-5, "USD", 2, "−$0.05"),
            (0, "EUR", 2, "€0.00"),
            (1500, "NOK", 2, "15.00 NOK"),
            (1500, "JPY", 0, "1,500 JPY"),
            (10**15 + 1, "USD", 2, "$10,000,000,000,000.01"),
        ],
    )
    def test_is_written_as_the_currency_is(self, cents, currency, digits, text):
        assert money_text(cents, ShopSettings(currency=currency, minor_digits=digits)) == text


class TestAmountText:
    def test_leaves_the_currency_to_the_head_of_the_column(self):
        assert amount_text(-123456, ShopSettings()) == "−1,234.56"


class TestPressureText:
    @pytest.mark.parametrize(("unit", "text"), [("psi", "35 psi"), ("kpa", "241 kPa")])
    def test_is_in_the_unit_of_the_gauge(self, unit, text):
        assert pressure_text(241, ShopSettings(pressure_unit=unit)) == text

    @pytest.mark.parametrize(("kpa", "text"), [(483, "70 psi"), (450, "65.3 psi")])
    def test_a_whole_figure_comes_back_as_it_was_set(self, kpa, text):
        assert pressure_text(kpa, ShopSettings(pressure_unit="psi")) == text

    def test_keeps_zeros_that_count(self):
        assert pressure_text(240, ShopSettings(pressure_unit="kpa")) == "240 kPa"
        assert pressure_text(240, ShopSettings(pressure_unit="bar")) == "2.4 bar"


class TestTorqueText:
    def test_is_in_the_unit_of_the_wrench(self):
        assert torque_text(450, ShopSettings(torque_unit="nm")) == "4.5 N·m"
        assert torque_text(700, ShopSettings(torque_unit="lbf_in")) == "62 lbf·in"


class TestDayText:
    @pytest.mark.parametrize(
        ("order", "text"),
        [("Y-m-d", "2026-03-09"), ("m/d/Y", "03/09/2026"), ("d.m.Y", "09.03.2026")],
    )
    def test_is_in_the_order_of_the_shop(self, order, text):
        assert day_text(date(2026, 3, 9), ShopSettings(date_order=order)) == text


class TestMonthText:
    def test_is_spelled_out(self):
        assert month_text(date(2016, 2, 1)) == "February 2016"
