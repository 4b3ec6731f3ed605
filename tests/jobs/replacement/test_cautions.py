"""Cautions where they matter (common practice, no source; law as the sentences say)."""

import pytest

from jobs.replacement.actions import Action
from jobs.replacement.cautions import CAUTION_WORDS, Caution, cautions_for
from jobs.replacement.need import Need
from jobs.replacement.wheel import Heard
from tests.jobs.replacement.cast import DEAD, clamp_in, snap_in


class TestCautionsFor:
    @pytest.mark.parametrize("action", [*Action, None])
    def test_every_action_has_its_caution_in_words_and_none_twice(self, action):
        cautions = cautions_for(clamp_in(), action, Need.NONE)
        assert cautions
        assert len(set(cautions)) == len(cautions)
        assert set(cautions) <= set(CAUTION_WORDS) == set(Caution)

    @pytest.mark.parametrize("action", [Action.RESEAL, Action.BODY, Action.STEM, Action.ASSEMBLY])
    def test_whatever_opens_the_wheel_says_to_let_the_air_out(self, action):
        cautions = cautions_for(clamp_in(), action, Need.PART)
        assert {Caution.DEFLATE, Caution.LIFT, Caution.SEATING, Caution.TORQUE} <= set(cautions)

    def test_a_sensor_that_came_in_dead_comes_with_its_law_first(self):
        assert cautions_for(clamp_in(**DEAD), Action.BODY, Need.PART)[0] is Caution.DEAD_ON_ARRIVAL

    def test_a_working_sensor_that_is_worked_on_comes_with_its_own(self):
        cautions = cautions_for(clamp_in(tire_off=True), Action.RESEAL, Need.PART)
        assert Caution.WORKING_SENSOR in cautions
        assert Caution.WORKING_SENSOR not in cautions_for(clamp_in(), Action.LEAVE, Need.NONE)

    def test_wheels_without_sensors(self):
        wheel = clamp_in(heard=Heard.PLAIN_VALVE)
        assert cautions_for(wheel, Action.ASSEMBLY, Need.PART)[0] is Caution.NO_SENSOR

    def test_a_taken_off_cell_is_not_opened(self):
        for action in (Action.BODY, Action.ASSEMBLY):
            assert Caution.CELL in cautions_for(clamp_in(), action, Need.PART)

    def test_rubber_is_not_refitted_and_sealant_is_watched(self):
        cautions = cautions_for(snap_in(sealant_inside=True), Action.STEM, Need.PART)
        assert cautions[:2] == (Caution.SEALANT, Caution.RUBBER_ONCE)

    def test_a_re_learn_needs_brake_and_fresh_air(self):
        assert cautions_for(clamp_in(), Action.LEAVE, Need.RELEARN)[0] is Caution.RELEARN
