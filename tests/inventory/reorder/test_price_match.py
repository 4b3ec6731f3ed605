from datetime import date

import pytest

from inventory.catalog.models import PartCode
from inventory.reorder.models import PriceList
from inventory.reorder.price_match import guess_columns, guess_mark, known_codes, read_prices
from inventory.shop.models import ShopSettings
from tests.make import make_offer, make_part

pytestmark = pytest.mark.django_db

HEADS = ["Item no", "Text", "Net price", "Pack"]


@pytest.fixture
def part():
    return make_part(number="QX-4410")


def listed(supplier, *rows, **columns):
    chosen = {"part": "Item no", "price": "Net price", "pack": "Pack"} | columns
    return PriceList(
        supplier=supplier, heads=HEADS, rows=[list(row) for row in rows], columns=chosen
    )


def read(supplier, *rows, **columns):
    return read_prices(listed(supplier, *rows, **columns), ShopSettings())


class TestGuessColumns:
    def test_by_what_the_headings_sound_like(self):
        found = guess_columns(HEADS, {})
        assert found == {"part": "Item no", "price": "Net price", "pack": "Pack"}

    def test_as_it_was_last_time(self):
        remembered = {"part": "Text", "price": "Net price", "per": "piece", "minimum": "Gone"}
        found = guess_columns(HEADS, remembered)
        assert (found["part"], found["per"]) == ("Text", "piece")
        assert "minimum" not in found


class TestGuessMark:
    def test_by_how_most_figures_end(self):
        assert guess_mark([["A,1", "12,50"], ["B", "1.234,00"], ["C", "3.5"]]) == ","
        assert guess_mark([["A", "12.50"], ["B", "1,234"]]) == "."


class TestKnownCodes:
    def test_a_supplier_s_own_number_comes_first(self, supplier, part):
        other = make_part()
        code = PartCode(part=other, kind="maker", code="B-7")
        code.full_clean()
        code.save()
        assert known_codes(supplier, ["b7"])["B7"] == (other,)
        make_offer(supplier, part, supplier_code="B-7")
        assert known_codes(supplier, ["b7"])["B7"] == (part,)

    def test_costs_the_same_for_many_codes(self, supplier, django_assert_num_queries):
        with django_assert_num_queries(3):
            known_codes(supplier, [f"C-{number}" for number in range(2_000)])


class TestReadPrices:
    def test_a_row_is_the_price_of_a_pack(self, supplier, part):
        [price] = read(supplier, ["QX 4410", "", "1,234.50", "4"]).prices
        assert (price.part, price.pack_price_cents, price.pack) == (part, 123_450, 4)

    def test_cents_may_stand_behind_a_comma(self, supplier, part):
        [price] = read(supplier, ["QX-4410", "", "€ 1.234,50", ""], mark=",").prices
        assert price.pack_price_cents == 123_450

    def test_the_price_of_a_piece_is_told_for_its_pack(self, supplier, part):
        found = read(supplier, ["QX-4410", "", "0.125", "50"], per="piece")
        assert (found.prices[0].pack_price_cents, found.rounded) == (625, 0)

    def test_a_list_without_packs_keeps_the_pack_that_was_agreed(self, supplier, part):
        make_offer(supplier, part, pack=4, valid_from=date(2020, 1, 1))
        [price] = read(supplier, ["QX-4410", "", "2.50", ""], per="piece").prices
        assert (price.pack_price_cents, price.pack) == (1_000, None)

    def test_less_than_a_cent_is_rounded_and_counted(self, supplier, part):
        found = read(supplier, ["QX-4410", "", "2.505", "1"])
        assert (found.prices[0].pack_price_cents, found.rounded) == (251, 1)

    @pytest.mark.parametrize(
        ("row", "fault"),
        [
            (["QX-4410", "", "", "1"], "there is no price; write one, or leave the row out."),
            (
                ["QX-4410", "", "call us", "1"],
                "“call us” is no number; correct it, or leave the row out.",
            ),
            (["QX-4410", "", "-3", "1"], "“-3” is no price; write an amount of 0 or more."),
            (["QX-4410", "", "3", "1.5"], "“1.5” is no number of pieces; write 1 or more."),
        ],
    )
    def test_a_fault_is_told_and_leaves_its_row_out(self, supplier, part, row, fault):
        found = read(supplier, row)
        assert (found.prices, found.faults) == ([], [f"“QX-4410”: {fault}"])

    def test_a_code_of_two_parts_is_a_fault(self, supplier, part):
        for one in (part, make_part(number="RZ-77")):
            code = PartCode(part=one, kind="printed", code="AMB-1")
            code.full_clean()
            code.save()
        assert read(supplier, ["AMB-1", "", "3", "1"]).faults == [
            "“AMB-1”: “AMB-1” is a code of QX-4410, RZ-77; give the number of one of them."
        ]

    def test_a_part_that_stands_there_twice_is_left_out(self, supplier, part):
        found = read(supplier, ["QX-4410", "", "3", "1"], ["qx4410", "", "4", "1"])
        assert found.prices == []
        assert found.faults == ["QX-4410 stands there more than once; keep the row that holds."]

    def test_what_we_do_not_know_is_no_fault(self, supplier):
        found = read(supplier, ["Z-9", "", "3", "1"], ["", "a heading", "", ""])
        assert (found.prices, found.unknown, found.faults) == ([], ["Z-9"], [])
