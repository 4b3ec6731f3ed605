"""49 CFR 565.15: the check digit and the model year of a vehicle identification number."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.catalog.vin import as_vin, check_digit, model_years, passes_check_digit

# Widely printed hypothetical number (published, read); used for the check digit only.
PUBLISHED = "1M8GDM9AXKP042788"
CHARACTERS = "0123456789ABCDEFGHJKLMNPRSTUVWXYZ"
VINS = st.text(alphabet=CHARACTERS, min_size=17, max_size=17)


class TestAsVin:
    def test_drops_spaces_and_capitalises(self):
        assert as_vin(" 1m8gdm9a xkp042788 ") == PUBLISHED

    def test_says_how_many_characters_it_got(self):
        with pytest.raises(ValueError, match="Read it again") as refused:
            as_vin("1M8GDM9A")
        assert str(refused.value) == ("A VIN has 17 characters; “1M8GDM9A” has 8. Read it again.")

    @pytest.mark.parametrize("letter", ["I", "O", "Q"])
    def test_refuses_letters_taken_for_digits(self, letter):
        with pytest.raises(ValueError, match="cannot stand") as refused:
            as_vin(letter + PUBLISHED[1:])
        assert str(refused.value) == (
            f"“{letter}” at place 1 of “{letter}{PUBLISHED[1:]}” cannot stand in a VIN; "
            "letters other than I, O and Q, and digits, can."
        )


class TestCheckDigit:
    def test_published_sample(self):
        assert check_digit(PUBLISHED) == "X"

    def test_seventeen_ones_sum_to_89_which_leaves_1(self):
        # The weights sum to 89 = 8 × 11 + 1 (computed by hand).
        assert check_digit("1" * 17) == "1"

    def test_ignores_what_stands_at_the_ninth_place(self):
        assert check_digit(PUBLISHED[:8] + "3" + PUBLISHED[9:]) == "X"


class TestPassesCheckDigit:
    @given(VINS, st.integers(0, 16), st.sampled_from("0123456789"))
    def test_one_wrong_digit_among_digits_never_passes(self, vin, place, wrong):
        vin = vin[:8] + check_digit(vin) + vin[9:]
        if place == 8 or not vin[place].isdigit() or vin[place] == wrong:
            return
        assert not passes_check_digit(vin[:place] + wrong + vin[place + 1 :])

    def test_letters_of_equal_value_pass_unnoticed(self):
        # A and J both count 1: the reason a pass is no proof of a real vehicle.
        assert passes_check_digit(PUBLISHED.replace("A", "J"))


class TestModelYears:
    def test_a_digit_at_the_seventh_place_means_the_first_round(self):
        assert model_years(PUBLISHED, light_vehicle=True, this_year=2026) == [1989]

    def test_a_letter_there_means_the_second(self):
        vin = PUBLISHED[:6] + "B" + PUBLISHED[7:]
        assert model_years(vin, light_vehicle=True, this_year=2026) == [2019]

    def test_other_vehicles_stay_ambiguous(self):
        assert model_years(PUBLISHED, light_vehicle=False, this_year=2026) == [1989, 2019]

    def test_leaves_out_years_not_yet_sold(self):
        vin = PUBLISHED[:9] + "Y" + PUBLISHED[10:]
        assert model_years(vin, light_vehicle=False, this_year=2026) == [2000]

    @pytest.mark.parametrize("code", ["U", "Z", "0"])
    def test_some_characters_name_no_year(self, code):
        vin = PUBLISHED[:9] + code + PUBLISHED[10:]
        assert model_years(vin, light_vehicle=False, this_year=2026) == []

    @pytest.mark.parametrize(
        ("code", "year"),
        [
            ("A", 1980),
            ("H", 1987),
            ("J", 1988),
            ("P", 1993),
            ("R", 1994),
            ("V", 1997),
            ("Y", 2000),
            ("1", 2001),
            ("9", 2009),
        ],
    )
    def test_table_of_years(self, code, year):
        # 49 CFR 565.15 table VII (published, read in part; some letters from memory).
        vin = PUBLISHED[:9] + code + PUBLISHED[10:]
        assert model_years(vin, light_vehicle=True, this_year=2026) == [year]
