"""GS1 check digits, and one spelling per code."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.catalog.codes import gtin14, gtin_check_digit, normalised

DIGITS = "0123456789"


class TestNormalised:
    @given(st.text())
    def test_is_its_own_normal_form(self, text):
        assert normalised(normalised(text)) == normalised(text)

    def test_ignores_how_a_code_is_spaced(self):
        assert normalised("ab-12.3/c") == normalised("AB 123C") == "AB123C"


class TestGtinCheckDigit:
    def test_worked_example(self):
        # GS1, "How to calculate a check digit manually": 629104150021 gives 3 (published, read).
        assert gtin_check_digit("629104150021") == "3"

    def test_a_sum_that_is_a_round_ten_gives_0(self):
        assert gtin_check_digit("501234567890") == "0"

    def test_refuses_letters(self):
        with pytest.raises(ValueError, match="made of digits") as refused:
            gtin_check_digit("62910A")
        assert str(refused.value) == "A GTIN is made of digits; “62910A” is not."

    @given(st.text(alphabet=DIGITS, min_size=7, max_size=13), st.integers(0, 12), st.data())
    def test_notices_any_single_wrong_digit(self, body, place, data):
        place %= len(body)
        wrong = data.draw(st.sampled_from(DIGITS.replace(body[place], "")))
        assert gtin_check_digit(body[:place] + wrong + body[place + 1 :]) != gtin_check_digit(body)


class TestGtin14:
    @given(st.text(alphabet=DIGITS, min_size=11, max_size=11))
    def test_twelve_digits_with_or_without_a_leading_zero_are_one_article(self, body):
        scanned = body + gtin_check_digit(body)
        assert gtin14(scanned) == gtin14("0" + scanned) == gtin14("00" + scanned)

    def test_none_for_a_wrong_check_digit_a_wrong_length_and_letters(self):
        assert gtin14("6291041500214") is None
        assert gtin14("62910415002") is None
        assert gtin14("62910415002AB") is None
