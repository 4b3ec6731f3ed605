"""Amounts with the currency or the unit that people write beside them."""

from decimal import Decimal

import pytest

from shopparts.workbook.amounts import ForeignError, bare_amount, counted


class TestBareAmount:
    @pytest.mark.parametrize("said", ["$12.50", "12.50 $", "USD 12.50", "12.50 usd", "12.50"])
    def test_leaves_the_shops_own_currency_out(self, said):
        assert bare_amount(said, "USD") == "12.50"

    def test_keeps_the_sign_of_a_loss(self):
        assert bare_amount("-$12.50", "USD") == "-12.50"

    @pytest.mark.parametrize("said", ["€12.50", "12.50 EUR", "CAD 12.50"])
    def test_refuses_another_currency(self, said):
        with pytest.raises(ForeignError):
            bare_amount(said, "USD")

    def test_leaves_alone_what_is_no_amount(self):
        assert bare_amount("on request", "USD") == "on request"


class TestCounted:
    @pytest.mark.parametrize(
        ("said", "field", "value"),
        [
            ("10 min", "relearn_minutes", "10"),
            ("1 h", "relearn_minutes", Decimal(60)),
            ("2 weeks", "stated_lead_days", Decimal(14)),
            ("25 %", "holding_percent_per_year", "25"),
            ("95%", "service_target_percent", "95"),
            ("4 pcs.", "pack", "4"),
            # 49 CFR 571.138 names its limit as 4,536 kg (10,000 lb).
            ("10,000 lb", "rated_weight_kg", Decimal(4536)),
            # The clamp-in advice holds above 130 mph (210 km/h) (published, read in a reprint).
            ("130 mph", "top_speed_kmh", Decimal(209)),
        ],
    )
    def test_takes_the_word_that_can_stand_there(self, said, field, value):
        assert counted(said, field) == value

    @pytest.mark.parametrize(
        ("said", "field"),
        [
            ("10 days", "relearn_minutes"),
            ("4 boxes", "pack"),
            ("2013 MY", "year_from"),
            (4, "pack"),
        ],
    )
    def test_leaves_any_other_word_to_be_refused(self, said, field):
        assert counted(said, field) == said
