import zipfile
from io import BytesIO

import pytest
from django.core.exceptions import ValidationError
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import Workbook

from inventory.reorder import price_file
from inventory.reorder.price_file import read_price_file


def workbook(*rows):
    book, out = Workbook(write_only=True), BytesIO()
    sheet = book.create_sheet()
    for row in rows:
        sheet.append(row)
    book.save(out)
    return out.getvalue()


def refused(name, data):
    with pytest.raises(ValidationError) as refusal:
        read_price_file(name, data)
    return refusal.value.messages[0]


class TestReadPriceFile:
    def test_reads_csv_with_whatever_stands_between(self):
        for mark in (",", ";", "\t"):
            data = f"Item{mark}Price\nB-7{mark}12.50\n".encode()
            table = read_price_file("list.csv", data)
            assert (table.heads, table.rows) == (["Item", "Price"], [["B-7", "12.50"]])

    def test_reads_a_workbook_as_a_person_would_type_it(self):
        table = read_price_file("list.xlsx", workbook(["Item", "Price"], [4410, 12.5], ["B", 7.0]))
        assert table.rows == [["4410", "12.5"], ["B", "7"]]

    def test_an_address_above_the_headings_is_passed_over(self):
        rows = (["Blyth Valve Supply"], ["Valid for trade only"], ["Item", "Price"], ["B-7", 3])
        assert read_price_file("list.xlsx", workbook(*rows)).heads == ["Item", "Price"]

    def test_headings_without_a_name_or_twice_are_told_apart(self):
        data = b"Item,,Price,Price\nB-7,x,1,2\n"
        heads = ["Item", "Column 2", "Price", "Price (column 4)"]
        assert read_price_file("list.csv", data).heads == heads

    def test_short_rows_are_filled_up(self):
        assert read_price_file("list.csv", b"Item,Price,Note\nB-7,1\n").rows == [["B-7", "1", ""]]

    def test_a_formula_is_what_it_came_to_or_nothing(self):
        table = read_price_file("list.xlsx", workbook(["Item", "Price"], ["B-7", "=1+1"]))
        assert table.rows == [["B-7", ""]]


class TestHostileFiles:
    def test_a_picture_is_refused(self):
        assert refused("list.csv", b"\x89PNG\r\n\x1a\n\xff\xfe") == (
            "“list.csv” is neither a workbook nor text in UTF-8; save it as xlsx or as CSV UTF-8."
        )

    def test_what_is_too_large_is_refused(self, monkeypatch):
        monkeypatch.setattr(price_file, "FILE_BYTES", 1_000_000)
        assert refused("list.csv", b"a" * 1_000_001) == (
            "“list.csv” has 1.0 MB and at most 1 are read; leave out what is no price, or split it."
        )

    def test_a_file_made_to_burst_is_refused(self, monkeypatch):
        monkeypatch.setattr(price_file, "UNPACKED_BYTES", 1_000)
        assert "unpacks to more than is read here" in refused("x.xlsx", workbook(["a", "b"]))

    def test_xml_with_entities_is_refused(self):
        book = BytesIO(workbook(["Item", "Price"], ["B-7", 1]))
        out = BytesIO()
        with zipfile.ZipFile(book) as before, zipfile.ZipFile(out, "w") as after:
            for name in before.namelist():
                data = before.read(name)
                if name == "xl/worksheets/sheet1.xml":
                    entity = b'<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa">]><worksheet>&a;</worksheet>'
                    data = entity
                after.writestr(name, data)
        assert "is damaged or no workbook" in refused("list.xlsx", out.getvalue())

    def test_a_file_without_headings_says_what_is_missing(self):
        assert refused("list.csv", b"1,2\n3,4\n") == (
            "“list.csv” has no row of headings in its first 30 rows; name each column above its "
            "figures."
        )

    def test_headings_alone_are_no_list(self):
        assert "has headings and no rows below them" in refused("list.csv", b"Item,Price\n")

    def test_too_many_rows_are_refused(self, monkeypatch):
        monkeypatch.setattr(price_file, "ROWS", 2)
        assert "has more than 2 rows" in refused("list.csv", b"Item,Price\n" + b"B,1\n" * 3)

    @given(st.binary(max_size=400), st.sampled_from([b"", b"PK\x03\x04", b"Item,Price\n"]))
    def test_any_bytes_are_read_or_refused_in_a_sentence(self, data, start):
        assert read_or_refused(start + data)

    @given(st.integers(0, 5_000), st.integers(0, 255))
    def test_a_workbook_with_one_byte_changed_is_read_or_refused(self, place, byte):
        data = bytearray(BOOK)
        data[place % len(data)] = byte
        assert read_or_refused(bytes(data))


def read_or_refused(data):
    try:
        return read_price_file("any", data).heads
    except ValidationError as refusal:
        return refusal.messages[0].startswith("“any” ")


BOOK = workbook(["Item", "Price"], ["B-7", 12.5])
