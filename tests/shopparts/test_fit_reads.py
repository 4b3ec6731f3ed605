"""49 CFR 571.138 for the lamp, the gas law for the cold, the valve table for snap-ins."""

from datetime import date

import pytest
from django.urls import reverse

from inventory.catalog.fit import Findings
from inventory.shop.models import ShopSettings
from inventory.shop.units import whole_kpa
from shopparts.fit_reads import Measured, reads
from tests.make import make_application, make_site, make_user

pytestmark = pytest.mark.django_db
STANDARD = "passenger standard load"
PSI = ShopSettings(pressure_unit="psi")


def application(**fields):
    psi_35 = whole_kpa(35, "psi")
    return make_application(**{"placard_front_kpa": psi_35, "placard_rear_kpa": psi_35} | fields)


def told(*applications, tire=STANDARD, shop=PSI, measured=None, **findings):
    found = reads(
        applications or [application()],
        findings=Findings(**findings),
        measured=measured,
        tire=tire,
        shop=shop,
    )
    return {read.title: " ".join(read.words) for read in found}


def measured(psi, **at):
    return Measured(gauge_kpa=whole_kpa(psi, "psi"), **at)


class TestReads:
    def test_the_lamp_by_the_published_rule(self):
        # 25 % under 35 psi is 26.25 psi, and 26 psi less a quarter is under the floor of 20 psi
        # (published, read).
        assert "On at the latest at 26.3 psi" in told()["Low-pressure lamp"]
        low = application(**dict.fromkeys(
            ("placard_front_kpa", "placard_rear_kpa"), whole_kpa(26, "psi")))  # fmt: skip
        assert "On at the latest at 20 psi" in told(low)["Low-pressure lamp"]

    def test_axles_that_differ_are_said_apart(self):
        van = application(placard_rear_kpa=whole_kpa(60, "psi"))
        said = told(van, tire="light truck load range C")["Low-pressure lamp"]
        # A quarter under 60 psi is 45 psi; the floor of load range C, 29 psi, is from memory.
        assert "front 29 psi, rear 45 psi" in said
        assert "for a light truck load range C tire" in said

    def test_a_cold_morning_by_the_gas_law(self):
        # (35 + 14.696) × 273.15 / 293.15 − 14.696 = 31.61 psi (computed).
        assert told()["On a cold morning"] == "Set at 20 °C, at 0 °C 35 psi reads 31.6 psi."

    def test_a_tire_that_only_the_cold_let_down(self):
        # (35 + 14.696) × 255.15 / 293.15 − 14.696 = 28.56 psi (computed): 197 kPa, said as 28.5.
        said = told(measured=measured("28.5", tire_c=-18))["Leak, or only the cold?"]
        assert said.startswith(
            "Set to 35 psi at 20 °C a tight tire shows 28.5 psi at −18 °C; this one shows 28.5 psi."
        )
        assert said.endswith("The cold alone explains it; it is 6.4 psi under its placard.")

    def test_a_leak_in_the_cold(self):
        said = told(measured=measured(24, tire_c=-18))["Leak, or only the cold?"]
        assert said.endswith("4.6 psi is missing: look for a leak.")

    def test_a_warm_tire_that_shows_its_placard_has_lost_air(self):
        # (35 + 14.696) × 323.15 / 293.15 − 14.696 = 40.09 psi (computed): 276 kPa, said as 40.
        said = told(measured=measured(35, tire_c=50))["Leak, or only the cold?"]
        assert "a tight tire shows 40 psi at 50 °C" in said
        assert said.endswith("5.1 psi is missing: look for a leak.")

    def test_a_tire_as_it_should_be(self):
        said = told(measured=measured(35, tire_c=20))["Leak, or only the cold?"]
        assert said.endswith("Nothing is missing.")

    def test_a_tire_set_in_the_cold(self):
        said = told(measured=measured(35, tire_c=0, set_c=0))["Leak, or only the cold?"]
        assert said.endswith("Nothing is missing.")

    def test_a_snap_in_against_the_pressure_really_set(self):
        # 65 psi (450 kPa) for the usual ones (published, read in a reprint).
        van = application(mounting="snap_in")
        assert told(van)["Snap-in valves"] == (
            "A usual one holds 65.3 psi cold, which is enough for this vehicle as listed."
        )
        assert told(van, pressure_set_kpa=whole_kpa(70, "psi"))["Snap-in valves"] == (
            "A usual one holds 65.3 psi cold; here only one rated 70 psi or more may go in."
        )
        blank = application(mounting="snap_in", placard_front_kpa=None, placard_rear_kpa=None)
        assert told(blank)["Snap-in valves"] == (
            "A usual one holds 65.3 psi cold; no pressure is known here."
        )

    def test_a_fast_car_is_told_of_clamp_in_valves(self):
        fast = application(mounting="snap_in", top_speed_kmh=240)
        assert told(fast)["Snap-in valves"].endswith(
            "Above 210 km/h (130 mph) clamp-in valves are recommended."
        )

    def test_other_mountings_have_no_such_limit(self):
        assert "Snap-in valves" not in told()

    def test_whether_a_system_must_be_there(self):
        # From 1 September 2007 (published, read).
        assert told()["Must it have a system?"].startswith("Built for the United States it must")
        early = application(year_from=2007, year_to=2007, built_to=date(2006, 12, 1))
        assert "it may or may not have a system" in told(early)["Must it have a system?"]
        assert (
            "asks for no system"
            in told(application(rated_weight_kg=5000))["Must it have a system?"]
        )

    def test_what_differs_is_left_to_the_door_label(self):
        other = application(placard_front_kpa=300, placard_rear_kpa=310)
        assert set(told(application(), other)) == {"Must it have a system?"}

    def test_an_indirect_system_has_a_lamp_of_its_own(self):
        indirect = application(system="indirect", band="", mounting="")
        assert "Low-pressure lamp" not in told(indirect)

    def test_every_read_has_its_caution(self):
        snap = application(mounting="snap_in")
        found = reads([snap], findings=Findings(), tire=STANDARD, shop=PSI)
        assert len(found) == 4
        assert all(read.caution for read in found)


class TestMeasuredOnThePage:
    @pytest.fixture
    def address(self, client):
        client.force_login(make_user(home_site=make_site()))
        return reverse("fit_answer", args=[application().pk])

    def test_the_gauge_is_read_in_the_units_of_the_shop(self, client, address):
        text = client.get(address, {"gauge": "24", "tire_c": "-18", "hole": "453"})
        assert "4.6 psi is missing: look for a leak." in text.content.decode()
        assert 'name="hole" value="453"' in text.content.decode()

    @pytest.mark.parametrize("odd", ["x", "-1", "999999999", "\x00", "1e400", "NaN"])
    def test_what_cannot_be_read_changes_nothing(self, client, address, odd):
        answer = client.get(address, {"gauge": odd, "tire_c": odd, "set_c": odd, "tire": odd})
        assert answer.status_code == 200
        assert "On a cold morning" in answer.content.decode()
