import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.workshop.identity import plain_id, wheels_heard

FOUR = {"FL": "A1", "FR": "B2", "RL": "C3", "RR": "D4"}


class TestPlainId:
    def test_tells_no_case_separator_or_leading_zero_apart(self):
        # Tools print one id as 00A1B2C3, a1b2c3 or A1 B2 C3 (common practice, no source).
        assert {plain_id(text) for text in ("00A1B2C3", "a1b2c3", "A1 B2:C3")} == {"A1B2C3"}

    def test_keeps_an_id_of_zeros(self):
        assert plain_id("0000") == "0"

    def test_refuses_what_is_not_hexadecimal(self):
        with pytest.raises(ValueError, match="is not a sensor id") as refusal:
            plain_id("A1G2")
        assert str(refusal.value) == (
            "“A1G2” is not a sensor id; write up to 16 hexadecimal digits, such as 1A2B3C4D."
        )

    @given(st.integers(0, 2**64 - 1))
    def test_names_each_number_once(self, number):
        assert int(plain_id(f"{number:016x}"), 16) == number


class TestWheelsHeard:
    def test_the_silent_wheel_is_the_one_whose_id_was_not_heard(self):
        found = wheels_heard(FOUR, ["a1", "00C3", "D4"])
        assert found.silent == "FR"
        assert found.answered == ("FL", "RL", "RR")

    def test_an_unknown_id_may_be_the_silent_wheels_new_one(self):
        found = wheels_heard(FOUR, ["A1", "C3", "D4", "E5"])
        assert found.silent is None
        assert found.unknown == ("E5",)
        assert found.learned == ("FR", "E5")

    def test_two_wheels_not_heard_name_no_silent_one(self):
        found = wheels_heard(FOUR, ["A1", "C3"])
        assert found.silent is None
        assert found.not_heard == ("FR", "RR")

    def test_a_wheel_without_a_known_id_can_be_the_silent_one(self):
        assert wheels_heard(FOUR | {"FR": ""}, ["A1", "C3", "D4"]).silent == "FR"

    def test_all_heard_leaves_none_silent(self):
        found = wheels_heard(FOUR, FOUR.values())
        assert (found.silent, found.not_heard, found.unknown) == (None, (), ())

    def test_two_mounted_wheels_with_one_id_are_reported(self):
        assert wheels_heard(FOUR | {"RR": "0A1"}, ["A1"]).doubled == ("A1",)

    @given(st.sets(st.sampled_from(sorted(FOUR))))
    def test_every_wheel_is_either_heard_or_not(self, silent):
        heard = [its for wheel, its in FOUR.items() if wheel not in silent]
        found = wheels_heard(FOUR, heard)
        assert set(found.not_heard) == silent
        assert set(found.answered) | silent == set(FOUR)
