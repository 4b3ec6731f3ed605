"""The hard rules, each with its sentence (common practice, no source)."""

from dataclasses import replace

import pytest

from jobs.replacement.actions import Action
from jobs.replacement.mask import mask_of
from jobs.replacement.wheel import (
    Battery,
    Construction,
    Heard,
    LeakAt,
    Mounting,
    Policy,
    StemCondition,
)
from tests.jobs.replacement.cast import DEAD, PRICES, clamp_in, one_piece, part, snap_in

ALWAYS, THREE_YEARS = Policy(), Policy(rubber_stem_months=36)
DEAD_BODY = "The body is dead: silent after 2 tries, and its battery is sealed in."


def ruled_out(wheel, policy=ALWAYS):
    return mask_of(wheel, policy).reasons


def open_actions(wheel, policy=ALWAYS):
    return [str(action) for action in Action if action not in ruled_out(wheel, policy)]


class TestMaskOf:
    def test_a_sound_clamp_in_with_its_tire_on_is_open_to_everything(self):
        assert open_actions(clamp_in()) == ["leave", "reseal", "body", "stem", "assembly"]

    def test_one_piece_comes_whole(self):
        assert open_actions(one_piece()) == ["leave", "reseal", "assembly"]
        assert ruled_out(one_piece())[Action.BODY] == (
            "A one-piece sensor is replaced whole: body and stem do not come apart."
        )

    def test_a_dead_body_needs_a_body_or_an_assembly(self):
        assert open_actions(clamp_in(**DEAD)) == ["body", "assembly"]
        assert ruled_out(clamp_in(**DEAD))[Action.STEM] == DEAD_BODY

    def test_silent_once_is_not_dead(self):
        assert "leave" in open_actions(clamp_in(heard=Heard.SILENT, tries=1))

    def test_a_weak_battery_rules_only_with_the_tire_off(self):
        assert "leave" in open_actions(clamp_in(battery=Battery.WEAK))
        weak = clamp_in(battery=Battery.WEAK, tire_off=True)
        assert open_actions(weak) == ["body", "assembly"]
        assert ruled_out(weak)[Action.RESEAL] == (
            "The battery is weak and sealed in, and the tire is off."
        )

    @pytest.mark.parametrize(
        ("found", "reason"),
        [
            ({"stem": StemCondition.CORRODED}, "The stem is corroded."),
            ({"stem": StemCondition.DAMAGED}, "The stem is damaged."),
            ({"leak_at": LeakAt.STEM}, "The stem leaks."),
        ],
    )
    def test_a_bad_stem_needs_a_stem_or_an_assembly(self, found, reason):
        assert open_actions(clamp_in(**found)) == ["stem", "assembly"]
        assert ruled_out(clamp_in(**found))[Action.LEAVE] == reason

    def test_with_the_tire_off_the_seal_of_a_clamp_in_is_new(self):
        wheel = clamp_in(tire_off=True)
        assert ruled_out(wheel) == {
            Action.LEAVE: "The tire is off, and the seal of a clamp-in is used once."
        }

    def test_unless_the_makers_procedure_says_otherwise(self):
        assert "leave" in open_actions(clamp_in(tire_off=True, seal_may_stay=True))

    def test_a_leaking_seal_needs_at_least_a_kit(self):
        assert "leave" not in open_actions(clamp_in(leak_at=LeakAt.SEAL))

    def test_the_kit_of_a_snap_in_is_its_stem(self):
        assert ruled_out(snap_in())[Action.RESEAL] == (
            "On a snap-in the service kit is a new stem: see stem."
        )

    def test_under_always_a_snap_in_is_never_offered_a_body_alone(self):
        for wheel in (snap_in(), snap_in(tire_off=True), snap_in(**DEAD)):
            assert "body" not in open_actions(wheel)
        assert ruled_out(snap_in())[Action.BODY] == (
            "Getting at the body takes the tire off, and the rubber stem is always replaced then."
        )

    def test_within_the_months_a_seated_rubber_stem_may_stay(self):
        young = snap_in(stem=part("rubber_stem", 2), **DEAD)
        assert open_actions(young, THREE_YEARS) == ["body", "assembly"]
        old = snap_in(stem=part("rubber_stem", 4), **DEAD)
        assert open_actions(old, THREE_YEARS) == ["assembly"]

    def test_a_rubber_stem_of_unknown_age_counts_as_old(self):
        guessed = snap_in(stem=part("rubber_stem", 1, age_known=False), tire_off=True)
        assert open_actions(guessed, THREE_YEARS) == ["stem", "assembly"]

    def test_with_the_tire_off_a_rubber_stem_is_replaced(self):
        assert open_actions(snap_in(tire_off=True)) == ["stem", "assembly"]

    def test_unknown_construction_is_inspected_not_decided(self):
        wheel = clamp_in(construction=Construction.UNKNOWN)
        assert open_actions(wheel) == ["leave", "reseal"]
        assert ruled_out(wheel)[Action.ASSEMBLY] == (
            "Look first whether this sensor is one piece or two."
        )

    def test_a_sensor_off_the_valve_comes_whole(self):
        wheel = clamp_in(mounting=Mounting.STRAP, tire_off=True)
        assert open_actions(wheel) == ["leave", "assembly"]

    def test_a_wheel_without_sensor_gets_a_whole_one(self):
        wheel = clamp_in(heard=Heard.PLAIN_VALVE)
        assert open_actions(wheel) == ["assembly"]
        assert ruled_out(wheel)[Action.LEAVE] == (
            "There is a plain valve where this vehicle has a sensor."
        )

    def test_what_nobody_sells_is_not_offered(self):
        parts = replace(PRICES.parts, body=None)
        wheel = clamp_in(prices=replace(PRICES, parts=parts))
        assert ruled_out(wheel) == {Action.BODY: "No body with a price fits this wheel."}
