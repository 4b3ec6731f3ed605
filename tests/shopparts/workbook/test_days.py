"""Days written as text: read where only one day can be meant, in the order of the shop."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.shop.amounts import day_text
from inventory.shop.models import DateOrder, ShopSettings
from shopparts.workbook.days import day_example, day_written, month_written

NINTH = date(2026, 3, 9)


class TestDayWritten:
    @pytest.mark.parametrize("order", DateOrder.values)
    @pytest.mark.parametrize(
        "said",
        ["2026-03-09", "2026/3/9", "9 Mar 2026", "9-mar-2026", "9. March 2026", "March 9, 2026"],
    )
    def test_reads_what_can_mean_one_day_only_in_every_shop(self, order, said):
        assert day_written(said, order) == NINTH

    @pytest.mark.parametrize(
        ("order", "said"),
        [
            ("m/d/Y", "3/9/2026"),
            ("m/d/Y", "03-09-2026"),
            ("d.m.Y", "9.3.2026"),
            ("d.m.Y", "09/03/2026"),
        ],
    )
    def test_reads_the_order_of_the_shop(self, order, said):
        assert day_written(said, order) == NINTH

    @pytest.mark.parametrize(
        ("order", "said"),
        [
            ("Y-m-d", "3/9/2026"),
            ("m/d/Y", "9.3.2026"),
            ("m/d/Y", "25/3/2026"),
            ("d.m.Y", "3/25/2026"),
            ("m/d/Y", "3/9/26"),
            ("m/d/Y", "3/9-2026"),
            ("m/d/Y", "9 Mrz 2026"),
            ("m/d/Y", "2/30/2026"),
        ],
    )
    def test_guesses_nothing(self, order, said):
        with pytest.raises(ValueError, match=r".+"):
            day_written(said, order)

    @given(st.dates(date(1980, 1, 1), date(2099, 12, 31)), st.sampled_from(DateOrder.values))
    def test_reads_every_day_as_the_shop_shows_it(self, day, order):
        shown = day_text(day, ShopSettings(date_order=order))
        assert day_written(shown, order) == day


class TestMonthWritten:
    @pytest.mark.parametrize(
        "said", ["2019-04", "04/2019", "4.2019", "Apr 2019", "April, 2019", "2019-04-17"]
    )
    def test_reads_a_month_however_it_is_written(self, said):
        assert month_written(said, "m/d/Y") == date(2019, 4, 1)

    @pytest.mark.parametrize("said", ["2019", "13/2019", "04/19", "spring 2019"])
    def test_guesses_nothing(self, said):
        with pytest.raises(ValueError, match=r".+"):
            month_written(said, "m/d/Y")


class TestDayExample:
    def test_names_the_order_of_the_shop_beside_iso(self):
        assert day_example("m/d/Y") == "2026-03-09 or 03/09/2026"
        assert day_example("Y-m-d") == "2026-03-09"
