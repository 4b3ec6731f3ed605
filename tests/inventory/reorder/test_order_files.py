import re
from dataclasses import replace
from datetime import date
from io import BytesIO

import pytest
from openpyxl import load_workbook

from inventory.reorder.models import Order, Supplier
from inventory.reorder.order_files import order_pdf, order_workbook, printable
from inventory.reorder.order_paper import OrderPaper, PaperLine
from inventory.shop.models import ShopSettings, Site

LINE = PaperLine(
    code="B-7",
    number="QX-4410",
    words="sensor, clamp-in",
    packs=2,
    pack=4,
    pack_price_cents=1_037,
    value_cents=2_074,
    mark="",
)


def paper(*lines, words="", currency="USD", freight_cents=0):
    supplier = Supplier(name="Blyth Valve Supply", our_number="K-12")
    order = Order(key="BLY-260302-1", supplier=supplier, site=Site(name="Quay Street"))
    order.status, order.words = "sent", words
    shop = ShopSettings(name="Kelpwick Tire", address="3 Quay Street", currency=currency)
    return OrderPaper(
        shop=shop,
        order=order,
        on=date(2026, 3, 2),
        lines=lines or (LINE,),
        freight_cents=freight_cents,
    )


def drawn(written):
    """A PDF whose pages are not packed, as text."""
    return written.decode("latin-1")


def shown(written):
    """What its pages show: the strings between brackets that are drawn, one after the other."""
    return "".join(re.findall(r"\(((?:\\.|[^)\\])*)\) Tj", drawn(written)))


class TestOrderPdf:
    def test_says_who_orders_what_from_whom(self):
        text = drawn(order_pdf(paper(freight_cents=900)))
        for words in (
            "Kelpwick Tire",
            "Quay Street",
            "Blyth Valve Supply",
            "K-12",
            "B-7",
            "QX-4410",
        ):
            assert words in text
        assert "20.74" in text
        assert "Freight $9.00" in text

    def test_the_page_is_the_one_of_the_country(self):
        # Letter is 8.5 x 11 inches at 72 points; A4 is 210 x 297 mm (ISO 216).
        assert "/MediaBox [ 0 0 612 792 ]" in drawn(order_pdf(paper()))
        assert "/MediaBox [ 0 0 595.2756 841.8898 ]" in drawn(order_pdf(paper(currency="EUR")))

    def test_a_long_order_has_its_heads_on_every_page(self):
        text = drawn(order_pdf(paper(*[replace(LINE, number=f"QX-{n}") for n in range(120)])))
        assert text.count("Your number") == text.count("/Type /Page\n") > 2

    def test_what_looks_like_markup_is_text(self):
        text = shown(order_pdf(paper(replace(LINE, words="<b>x</b> & <i>"))))
        assert "<b>x</b> & <i>" in text

    def test_a_line_without_a_price_asks_for_it(self):
        text = drawn(order_pdf(paper(replace(LINE, pack_price_cents=None, value_cents=None))))
        assert "and 1 without a price: please tell us yours" in text


class TestPrintable:
    @pytest.mark.parametrize(
        ("text", "printed"),
        [("Müller & Søn", "Müller & Søn"), ("Dvořák", "Dvorák"), ("Я", "?"), ("½ “x”", "½ “x”")],
    )
    def test_marks_are_left_off_rather_than_letters(self, text, printed):
        assert printable(text) == printed


class TestOrderWorkbook:
    def rows(self, *lines, **facts):
        book = load_workbook(BytesIO(order_workbook(paper(*lines, **facts))))
        return list(book["Order"].iter_rows(values_only=True)), book["Order"]

    def test_has_a_row_a_line_and_the_total(self):
        rows, _ = self.rows()
        assert rows[-3][:6] == ("B-7", "QX-4410", "sensor, clamp-in", 2, 4, 8)
        assert [str(value) for value in rows[-3][6:8]] == ["10.37", "20.74"]
        assert (rows[-1][0], str(rows[-1][7])) == ("Total", "20.74")

    def test_no_cell_is_a_formula(self):
        _, sheet = self.rows(replace(LINE, words='=HYPERLINK("x")'), words="=1+1")
        found = {cell.value: cell.data_type for row in sheet.iter_rows() for cell in row}
        assert found["'=1+1"] == found['\'=HYPERLINK("x")'] == "s"
