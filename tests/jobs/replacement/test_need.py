"""Is a part needed at all (common practice, no source)."""

import pytest

from jobs.replacement.need import NEED_WORDS, Need, first_need
from jobs.replacement.wheel import Battery, Construction, Heard, Lamp, LeakAt, Mounting
from tests.jobs.replacement.cast import DEAD, clamp_in

NOTHING_FITS = {"all_answer": True, "ids_match": True}


class TestFirstNeed:
    @pytest.mark.parametrize(
        ("found", "need"),
        [
            ({}, Need.NONE),
            ({"id_stored": False, "all_answer": True, "ids_match": False}, Need.RELEARN),
            ({"leak_at": LeakAt.CORE}, Need.CORE),
            ({"leak_at": LeakAt.CORE, "tire_off": True}, Need.NONE),
            ({"leak_at": LeakAt.BEAD}, Need.FIND_LEAK),
            ({"leak_at": LeakAt.SEAL}, Need.PART),
            ({"lamp": Lamp.FLASHES} | NOTHING_FITS, Need.FIND_FAULT),
            ({"lamp": Lamp.STEADY} | NOTHING_FITS, Need.NONE),
            ({"lamp": Lamp.FLASHES}, Need.NONE),
            ({"heard": Heard.SILENT, "tries": 1}, Need.TRY_AGAIN),
            (DEAD, Need.PART),
            ({"heard": Heard.NOT_TRIED}, Need.NOT_TRIED),
            ({"heard": Heard.WRONG_BAND}, Need.WRONG_SENSOR),
            ({"heard": Heard.TEMPORARY_SPARE}, Need.NO_SENSOR_HERE),
            ({"heard": Heard.PLAIN_VALVE}, Need.PART),
            ({"battery": Battery.WEAK}, Need.NONE),
        ],
    )
    def test_the_first_that_fits(self, found, need):
        assert first_need(clamp_in(**found)) is need

    def test_a_dead_sensor_of_unknown_build_is_looked_at_first(self):
        wheel = clamp_in(construction=Construction.UNKNOWN, **DEAD)
        assert first_need(wheel) is Need.INSPECT

    def test_one_that_does_not_sit_on_the_valve_needs_no_look_and_no_seal(self):
        strapped = {"mounting": Mounting.STRAP, "construction": Construction.UNKNOWN}
        assert first_need(clamp_in(**strapped, **DEAD)) is Need.PART
        assert first_need(clamp_in(**strapped, leak_at=LeakAt.STEM)) is Need.FIND_LEAK

    def test_every_need_has_its_words(self):
        assert set(NEED_WORDS) == set(Need)
