"""Our walk through the rows of a sheet gives what openpyxl's own gives."""

import datetime as dt
import zipfile
from io import BytesIO

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

from shopparts.workbook.faults import UnreadableError
from shopparts.workbook.rows import Look, Uncomputed, sheet_rows
from shopparts.workbook.source import opened

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
PLAIN = Look(strings=["shared"], dates=frozenset(), spans=frozenset(), epoch=None)

cells = st.one_of(
    st.none(),
    st.integers(-(10**9), 10**9),
    st.floats(allow_nan=False, allow_infinity=False, width=32),
    st.booleans(),
    st.datetimes(
        dt.datetime(1950, 1, 1),  # noqa: DTZ001  a cell knows no zone
        dt.datetime(2090, 1, 1),  # noqa: DTZ001
    ).map(lambda at: at.replace(microsecond=0)),
    st.text(st.characters(exclude_categories=["Cs"]), max_size=12).filter(
        lambda text: (
            not ILLEGAL_CHARACTERS_RE.search(text)
            and not set(text) & {"\r", "\ufffe", "\uffff"}
            and not text.startswith(("=", "#"))
        )
    ),
)


def rows_of(xml, look=PLAIN, widest=200):
    sheet = f'<worksheet xmlns="{MAIN}"><sheetData>{xml}</sheetData></worksheet>'
    return list(sheet_rows(BytesIO(sheet.encode()), look, widest=widest))


class TestSheetRows:
    @settings(deadline=None)
    @given(rows=st.lists(st.lists(cells, max_size=5), max_size=6))
    def test_gives_the_same_values_as_openpyxl(self, rows, tmp_path_factory):
        path = tmp_path_factory.mktemp("rows") / "book.xlsx"
        book = openpyxl.Workbook()
        (page,) = book.worksheets
        for row in rows:
            page.append(row)
        book.save(path)
        theirs = openpyxl.load_workbook(path, read_only=True, data_only=True)
        wanted = [list(row) for row in theirs.worksheets[0].iter_rows(values_only=True)]
        theirs.close()
        with opened(path) as source:
            found = dict(source.rows("Sheet"))
        for number, row in enumerate(wanted, start=1):
            ours = list(found.pop(number, ()))
            assert ours + [None] * (len(row) - len(ours)) == row
        assert not found

    def test_reads_shared_and_rich_text_without_readings_above_it(self):
        rich = "<is><r><t>Sen</t></r><r><rPr/><t>sor</t></r><rPh><t>not this</t></rPh></is>"
        found = rows_of(
            f'<row r="3"><c r="A3" t="s"><v>0</v></c><c r="C3" t="inlineStr">{rich}</c></row>'
        )
        assert found == [(3, ("shared", None, "Sensor"))]

    def test_counts_rows_and_cells_that_carry_no_address(self):
        assert rows_of("<row><c><v>1</v></c></row><row/><row><c><v>2</v></c></row>") == [
            (1, (1,)),
            (3, (2,)),
        ]

    def test_marks_a_formula_that_was_never_computed(self):
        found = rows_of('<row r="1"><c r="A1"><f>1+1</f></c><c r="B1"><f>1+1</f><v>2</v></c></row>')
        assert found == [(1, (Uncomputed(), 2))]

    def test_refuses_a_row_wider_than_allowed(self):
        with pytest.raises(UnreadableError) as refused:
            rows_of('<row r="7"><c r="XFD7"><v>1</v></c></row>')
        assert str(refused.value) == (
            "Row 7 has a value in column 16384; a sheet here has at most 200 columns"
        )

    def test_refuses_entities_and_expands_none(self):
        bomb = (
            f'<!DOCTYPE w [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]><worksheet xmlns="{MAIN}">'
            '<sheetData><row r="1"><c r="A1" t="str"><v>&b;</v></c></row></sheetData></worksheet>'
        )
        with pytest.raises(UnreadableError) as refused:
            list(sheet_rows(BytesIO(bomb.encode()), PLAIN, widest=9))
        assert str(refused.value) == "The workbook declares entities of its own; save it again"


class TestOpened:
    def test_a_sheet_cut_short_is_refused_in_a_sentence(self, tmp_path):
        whole = tmp_path / "whole.xlsx"
        book = openpyxl.Workbook()
        book.worksheets[0].append(["a", "b"])
        book.save(whole)
        cut = tmp_path / "cut.xlsx"
        with zipfile.ZipFile(whole) as old, zipfile.ZipFile(cut, "w") as new:
            for name in old.namelist():
                data = old.read(name)
                new.writestr(name, data[: len(data) // 2] if "sheet1" in name else data)
        with pytest.raises(UnreadableError) as refused, opened(cut) as source:
            list(source.rows("Sheet"))
        assert str(refused.value) == (
            "The file “cut.xlsx” is damaged or no workbook; open it in a spreadsheet program and "
            "save it again as .xlsx"
        )
