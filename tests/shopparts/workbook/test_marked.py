"""The marked copy shows each fault in its cell, and loads once it is corrected."""

from typing import Any

import openpyxl
import pytest

from inventory.catalog.models import Part
from shopparts.workbook.load import load
from shopparts.workbook.marked import write_marked
from shopparts.workbook.registry import sheets
from tests.shopparts.workbook.book import PARTS_HEAD, write_book

pytestmark = pytest.mark.django_db


@pytest.fixture
def marked(tmp_path):
    """Load these rows, which are at fault, and open the marked copy."""

    def do(**rows: Any) -> Any:
        path = write_book(tmp_path / "book.xlsx", **rows)
        write_marked(path, tmp_path / "marked.xlsx", load(path, sheets()).faults)
        return openpyxl.load_workbook(tmp_path / "marked.xlsx")

    return do


class TestWriteMarked:
    def test_fills_the_cell_and_says_what_was_expected(self, marked):
        page = marked(Parts=[["made for a test"], PARTS_HEAD, ["EX-1", "Thing", "blue"]])["Parts"]
        assert [cell.coordinate for cell in page[3] if cell.comment] == ["B3", "C3"]
        assert page["C3"].value == "blue"
        assert page["C3"].fill.fgColor.rgb == "00F6C6C0"
        assert page["C3"].comment.text == (
            "“blue” is none of the choices; write one of: 315 MHz, 433 MHz, another band."
        )

    def test_keeps_every_row_in_its_place(self, marked):
        rows = [[], PARTS_HEAD, [], ["EX-1", "Kit", ""], [], ["EX-2", "Thing", ""]]
        page = marked(Parts=rows)["Parts"]
        assert [page[f"A{row}"].value for row in (2, 4, 6)] == ["Number", "EX-1", "EX-2"]

    def test_lists_all_faults_on_a_sheet_of_their_own(self, marked):
        book = marked(Stuff=[["a"]], Parts=[PARTS_HEAD, ["EX-1", "Sensor body", ""]])
        rows = [[cell.value for cell in row] for row in book["Faults"].iter_rows(min_row=2)]
        assert [row[:3] for row in rows] == [["Stuff", None, None], ["Parts", 2, None]]
        assert rows[1][3] == (
            "Sheet “Parts”, row 2: a sensor body or assembly needs at least one radio band."
        )

    def test_loads_once_it_is_corrected(self, marked, tmp_path):
        book = marked(Parts=[PARTS_HEAD, ["'=EX-1", "Thing", ""]])
        book["Parts"]["B2"].value = "Kit"
        book.save(tmp_path / "corrected.xlsx")
        assert load(tmp_path / "corrected.xlsx", sheets()).written
        assert Part.objects.get().number == "=EX-1"

    def test_runs_nothing(self, marked):
        book = marked(Parts=[PARTS_HEAD, ["+EX-1", "=2+3", "@SUM(A1)"]])
        cells = [cell for page in book.worksheets for row in page.iter_rows() for cell in row]
        assert not [cell for cell in cells if cell.data_type == "f"]
        texts = [cell.value for cell in cells if isinstance(cell.value, str)]
        assert not [text for text in texts if text.startswith(("=", "+", "@"))]
