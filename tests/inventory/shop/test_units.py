"""Conversions of NIST SP 811, Appendix B.8 (published, read second-hand)."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from inventory.shop import units


class TestKpaExactly:
    def test_psi_as_nist_prints_it(self):
        assert float(units.kpa_exactly(1, "psi")) == pytest.approx(6.894757, abs=5e-7)

    def test_psi_as_scipy_has_it(self):
        assert float(units.KPA_PER_PSI) == pytest.approx(constants.psi / 1000, rel=1e-12)

    def test_bar(self):
        assert units.kpa_exactly("2.4", "bar") == 240

    def test_names_the_units_it_knows(self):
        with pytest.raises(ValueError, match="not a unit") as refused:
            units.kpa_exactly(1, "atm")
        assert str(refused.value) == ("“atm” is not a unit known here; use one of kpa, psi, bar.")


class TestWholeKpa:
    @pytest.mark.parametrize(("psi", "kpa"), [(35, 241), (32, 221), (65, 448)])
    def test_rounds_once(self, psi, kpa):
        assert units.whole_kpa(psi, "psi") == kpa


class TestPressureIn:
    @given(st.integers(0, 200))
    def test_whole_and_half_psi_survive_being_kept(self, half_psi):
        psi = Decimal(half_psi) / 2
        assert units.pressure_in("psi", units.whole_kpa(psi, "psi")) == psi

    @given(st.integers(0, 1500))
    def test_kpa_and_bar_survive_exactly(self, kpa):
        for unit in ("kpa", "bar"):
            assert units.whole_kpa(units.pressure_in(unit, kpa), unit) == kpa


class TestTorque:
    def test_pound_force_inch_as_nist_prints_it(self):
        assert float(units.CNM_PER_LBF_IN) == pytest.approx(11.29848, abs=5e-6)

    @given(st.integers(1, 2000))
    def test_whole_pound_force_inches_survive_being_kept(self, lbf_in):
        kept = units.whole_cnm(lbf_in, "lbf_in")
        assert units.torque_in("lbf_in", kept) == lbf_in

    def test_newton_metres_are_exact(self):
        assert units.whole_cnm("7.25", "nm") == 725
        assert units.torque_in("nm", 725) == Decimal("7.25")


class TestCelsius:
    @pytest.mark.parametrize(("f", "c"), [(32, 0), (212, 100), (-40, -40), (68, 20)])
    def test_fixed_points(self, f, c):
        assert units.celsius(f) == c


class TestKilometresPerHour:
    def test_the_mile_is_exact(self):
        assert float(units.kilometres_per_hour(1)) * 1000 == pytest.approx(constants.mile)
