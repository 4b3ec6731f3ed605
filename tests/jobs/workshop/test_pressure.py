"""49 CFR 571.138 for the lamp; the gas law for the rest."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.shop.units import KPA_PER_PSI, celsius, kpa_exactly
from jobs.workshop.pressure import (
    lamp_threshold,
    pressure_at_temperature,
    sensor_agrees,
    tire_at_today,
)

STANDARD = "passenger standard load"


def psi(kpa):
    return float(kpa) / float(KPA_PER_PSI)


class TestLampThreshold:
    @pytest.mark.parametrize(("placard", "lights_at"), [(35, 26.25), (26, 20), (32, 24)])
    def test_the_higher_of_a_quarter_under_and_the_floor(self, placard, lights_at):
        # 49 CFR 571.138 S4.2 and table 1 (published, read).
        assert lamp_threshold(placard, tire=STANDARD, unit="psi") == lights_at

    def test_the_floor_is_the_one_printed_in_the_unit_asked_for(self):
        assert lamp_threshold(170, tire=STANDARD) == 140

    def test_names_the_tires_it_knows(self):
        with pytest.raises(ValueError, match="no row") as refused:
            lamp_threshold(240, tire="bicycle")
        assert str(refused.value) == (
            "The rule has no row for “bicycle”; use one of passenger standard load, "
            "passenger extra load, light truck load range C, light truck load range D, "
            "light truck load range E."
        )


class TestPressureAtTemperature:
    def test_thirty_five_psi_on_a_frosty_morning(self):
        # Computed: (35 + 14.696)·459.67/527.67 − 14.696; scaling the gauge would give 30.49.
        kpa = pressure_at_temperature(kpa_exactly(35, "psi"), from_c=celsius(68), to_c=celsius(0))
        assert psi(kpa) == pytest.approx(28.596, abs=0.002)

    def test_about_one_psi_for_ten_degrees_fahrenheit(self):
        # A rule of thumb of the trade (common practice, no source).
        kpa = pressure_at_temperature(kpa_exactly(35, "psi"), from_c=celsius(70), to_c=celsius(60))
        assert 35 - psi(kpa) == pytest.approx(1, abs=0.1)

    @given(st.integers(0, 600), st.integers(-40, 90), st.integers(-40, 90))
    def test_there_and_back_again(self, kpa, a, b):
        there = pressure_at_temperature(kpa, from_c=a, to_c=b)
        assert float(pressure_at_temperature(there, from_c=b, to_c=a)) == pytest.approx(kpa)

    def test_refuses_what_is_colder_than_cold(self):
        with pytest.raises(ValueError, match="absolute zero") as refused:
            pressure_at_temperature(240, from_c=-300, to_c=20)
        assert str(refused.value) == "No tire is at -300 °C, which is below absolute zero."


class TestSensorAgrees:
    def test_within_the_tolerance_either_way(self):
        assert sensor_agrees(240, gauge_kpa=247, tolerance_kpa=7)
        assert sensor_agrees(247, gauge_kpa=240, tolerance_kpa=7)
        assert not sensor_agrees(240, gauge_kpa=248, tolerance_kpa=7)


class TestTireAtToday:
    def test_a_healthy_sensor_may_sit_in_a_low_tire(self):
        # Common practice, no source: 33.7 psi at 102 °F, gauge agreeing, placard 34 psi. The
        # shortage at 68 °F follows from the gas law: 48.396·527.67/561.67 − 14.696 = 30.77 psi.
        shown = kpa_exactly("33.7", "psi")
        assert sensor_agrees(shown, gauge_kpa=shown, tolerance_kpa=7)
        tire = tire_at_today(shown, tire_c=celsius(102), placard_kpa=kpa_exactly(34, "psi"))
        assert psi(tire.short_kpa) == pytest.approx(3.23, abs=0.02)
        assert tire.low

    def test_a_warm_day_hides_no_shortage_a_cold_one_makes_more(self):
        cold, warm = (
            tire_at_today(235, tire_c=20, placard_kpa=234, today_c=day) for day in (-5, 25)
        )
        assert cold.low
        assert not warm.low

    def test_a_small_shortage_may_be_let_pass(self):
        assert not tire_at_today(230, tire_c=20, placard_kpa=234, tolerance_kpa=7).low
