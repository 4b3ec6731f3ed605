"""Snap-in limits of the Tire and Rim Association's valve table (published, read in a reprint)."""

import pytest

from inventory.catalog.valves import hole, snap_in_limits


class TestSnapInLimits:
    def test_allowed_up_to_its_rating(self):
        assert snap_in_limits(rated_kpa=450, placard_kpa=450, top_speed_kmh=210).allowed

    def test_not_above_its_rating(self):
        limits = snap_in_limits(rated_kpa=450, placard_kpa=455, top_speed_kmh=180)
        assert limits.over_rating
        assert not limits.allowed

    def test_the_pressure_really_set_counts_when_it_is_higher(self):
        # A loaded van is set above its placard (common practice, no source).
        assert snap_in_limits(rated_kpa=450, placard_kpa=420, set_kpa=480).over_rating

    def test_fast_vehicles_call_for_a_clamp_in(self):
        limits = snap_in_limits(rated_kpa=450, placard_kpa=240, top_speed_kmh=220)
        assert limits.over_speed
        assert not limits.over_rating

    def test_unknown_speed_speaks_neither_way(self):
        assert snap_in_limits(rated_kpa=450, placard_kpa=240).allowed


class TestHole:
    # One hole, several names (common practice, no source).
    @pytest.mark.parametrize("name", [".453", ".453 in", "0.453 in", "453", "11.5", "11,5 mm"])
    def test_names_of_the_small_hole(self, name):
        assert hole(name) == "453"

    @pytest.mark.parametrize("name", [".625", ".625 IN", "15.7", "15.7 mm"])
    def test_names_of_the_large_hole(self, name):
        assert hole(name) == "625"

    def test_no_conversion_makes_a_name(self):
        # .453 in is 11.5062 mm, but 11.506 names nothing.
        assert hole("11.506") is None
        assert hole("") is None
