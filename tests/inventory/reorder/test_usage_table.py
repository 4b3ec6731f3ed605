"""A plain table of usage is read whole or refused with every fault by row and column."""

from zipfile import ZipFile

import numpy as np
import pytest
from openpyxl import Workbook

from inventory.reorder.usage_table import UsageTableError, read_usage_table


def written(tmp_path, text, name="usage.csv"):
    file = tmp_path / name
    file.write_text(text, encoding="utf-8")
    return file


def workbook(tmp_path, rows, title="Usage"):
    book = Workbook()
    sheet = book.worksheets[0]
    sheet.title = title
    for row in rows:
        sheet.append(row)
    book.save(tmp_path / "usage.xlsx")
    return tmp_path / "usage.xlsx"


def rewritten(file, change):
    """Change the XML of the first sheet behind the back of the library that wrote it."""
    with ZipFile(file) as book:
        entries = {name: book.read(name) for name in book.namelist()}
    with ZipFile(file, "w") as book:
        for name, data in entries.items():
            book.writestr(name, change(data) if name.endswith("sheet1.xml") else data)


def refusal(file, **options):
    with pytest.raises(UsageTableError) as refused:
        read_usage_table(file, **options)
    return str(refused.value)


class TestReadUsageTable:
    def test_reads_a_csv_with_blank_cells_as_missing(self, tmp_path):
        table = read_usage_table(written(tmp_path, "Part,Jan,Feb\nK-1,3,\nK-2,0,12\n"))
        assert table.parts == ["K-1", "K-2"]
        assert table.periods == ["Jan", "Feb"]
        np.testing.assert_array_equal(table.pieces, [[3, np.nan], [0, 12]])

    @pytest.mark.parametrize("separator", [";", "\t"])
    def test_reads_other_separators_and_a_byte_order_mark(self, tmp_path, separator):
        text = "\ufeffPart,Jan,Feb\nK-1,3,4\n".replace(",", separator)
        assert read_usage_table(written(tmp_path, text)).pieces.tolist() == [[3, 4]]

    def test_reads_the_same_from_a_workbook(self, tmp_path):
        file = workbook(tmp_path, [["Part", "Jan", "Feb"], [4711, 3, None], ["K-2", "7", 1.0]])
        table = read_usage_table(file)
        assert table.parts == ["4711", "K-2"]
        np.testing.assert_array_equal(table.pieces, [[3, np.nan], [7, 1]])

    def test_leaves_out_empty_rows(self, tmp_path):
        table = read_usage_table(written(tmp_path, "Part,Jan\nK-1,3\n\n,\nK-2,1\n"))
        assert table.parts == ["K-1", "K-2"]

    def test_names_every_fault_by_row_and_column(self, tmp_path):
        text = "Part,Jan,Feb\nK-1,three,-2\nK-2,1.5,nan\n"
        assert refusal(written(tmp_path, text)) == (
            "usage.csv, row 2, column B: 'three' is not a number; write pieces, or leave the cell "
            "blank, in Jan.\n"
            "usage.csv, row 2, column C: -2 is negative; write the pieces used, 0 or more, in "
            "Feb.\n"
            "usage.csv, row 3, column B: 1.5 is not a whole number; write whole pieces in Jan.\n"
            "usage.csv, row 3, column C: 'nan' is not a number; write pieces, or leave the cell "
            "blank, in Feb."
        )

    def test_names_the_sheet_of_a_workbook(self, tmp_path):
        file = workbook(tmp_path, [["Part", "Jan"], ["K-1", "many"]], title="Last year")
        assert refusal(file) == (
            "usage.xlsx, sheet Last year, row 2, column B: 'many' is not a number; write pieces, "
            "or leave the cell blank, in Jan."
        )

    def test_shows_ten_faults_and_counts_the_rest(self, tmp_path):
        rows = "".join(f"K-{number},x\n" for number in range(13))
        said = refusal(written(tmp_path, "Part,Jan\n" + rows)).splitlines()
        assert len(said) == 11
        assert said[-1] == "And 3 more faults."

    def test_refuses_a_ragged_table(self, tmp_path):
        text = "Part,Jan,Feb\nK-1,1\nK-2,1,2,3\n"
        assert refusal(written(tmp_path, text)) == (
            "usage.csv, row 2, column C: the row ends after 2 cells and the header has 3; add the "
            "missing ones, blank where nothing is known.\n"
            "usage.csv, row 3, column D: the row has more cells than the header's 3; remove them."
        )

    def test_refuses_a_part_that_stands_twice_or_has_no_name(self, tmp_path):
        text = "Part,Jan\nK-1,1\nK-1,2\n,3\n"
        assert refusal(written(tmp_path, text)) == (
            "usage.csv, row 3, column A: part K-1 already stands in row 2; keep one of them.\n"
            "usage.csv, row 4, column A: the part has no name; name it, or remove the row."
        )

    def test_refuses_a_period_without_a_name(self, tmp_path):
        assert refusal(written(tmp_path, "Part,,Feb\nK-1,1,2\n")) == (
            "usage.csv, row 1, column B: the period has no name; name it."
        )

    def test_refuses_a_period_named_twice_as_the_first_part_in_place_of_a_header_is(self, tmp_path):
        assert refusal(written(tmp_path, "K-1,2,0,2\nK-2,1,1,0\n")) == (
            "usage.csv, row 1, column D: 2 already names column B; name each period once, in a "
            "header above the first part."
        )

    @pytest.mark.parametrize(
        ("text", "said"),
        [
            ("", "usage.csv is empty; it needs a header and a row a part."),
            ("Part,Jan\n", "usage.csv has a header but no parts; add a row a part."),
            (
                "Part\nK-1\n",
                "usage.csv, row 1 holds no periods; the first column is the part, every further "
                "one a period, with a comma, semicolon or tab between them.",
            ),
        ],
    )
    def test_refuses_a_table_without_figures(self, tmp_path, text, said):
        assert refusal(written(tmp_path, text)) == said

    def test_refuses_a_file_that_is_not_there(self, tmp_path):
        file = tmp_path / "gone.csv"
        assert refusal(file) == f"There is no file {file}; check its name and folder."

    def test_refuses_another_kind_of_file(self, tmp_path):
        assert refusal(written(tmp_path, "x", name="usage.pdf")) == (
            "usage.pdf is neither csv nor xlsx; save it as one of the two."
        )

    def test_refuses_a_workbook_that_is_none(self, tmp_path):
        assert refusal(written(tmp_path, "not a zip", name="usage.xlsx")) == (
            "usage.xlsx is not a workbook that can be read; open it, save it as xlsx, try again."
        )

    def test_refuses_a_workbook_that_breaks_off(self, tmp_path):
        file = workbook(tmp_path, [["Part", "Jan"], ["K-1", 1]])
        rewritten(file, lambda xml: xml[:-40])
        assert refusal(file) == (
            "usage.xlsx is not a workbook that can be read; open it, save it as xlsx, try again."
        )

    def test_refuses_a_formula_without_its_result(self, tmp_path):
        file = workbook(tmp_path, [["Part", "Jan", "Feb"], ["K-1", None, "=B2+1"]])
        assert refusal(file) == (
            "usage.xlsx, sheet Usage, row 2, column C: the formula was saved without its result; "
            "open the file in a spreadsheet program and save it."
        )

    def test_refuses_a_whole_number_beyond_all_arithmetic(self, tmp_path):
        file = workbook(tmp_path, [["Part", "Jan"], ["K-1", 77]])
        rewritten(file, lambda xml: xml.replace(b">77<", b">1" + b"0" * 400 + b"<"))
        assert refusal(file) == (
            f"usage.xlsx, sheet Usage, row 2, column B: '{10**400}' is not a number; write pieces, "
            "or leave the cell blank, in Jan."
        )

    def test_refuses_a_name_that_no_sheet_could_hold(self, tmp_path):
        assert refusal(written(tmp_path, "Part,Jan\nK-\x07,1\n")) == (
            "usage.csv, row 2, column A: the part's name holds a control character; write it anew."
        )

    def test_refuses_bytes_that_are_no_text(self, tmp_path):
        file = tmp_path / "usage.csv"
        file.write_bytes(b"Part,Jan\n\xff\xfe\x00,1\n")
        assert refusal(file).startswith("usage.csv cannot be read as a table (")
        assert refusal(file).endswith("; save it as csv in UTF-8, or as xlsx.")

    def test_refuses_a_sheet_that_is_not_there(self, tmp_path):
        file = workbook(tmp_path, [["Part", "Jan"], ["K-1", 1]])
        assert refusal(file, sheet="Usgae") == (
            "usage.xlsx has no sheet 'Usgae'; its sheets are Usage."
        )

    def test_refuses_a_sheet_of_a_csv(self, tmp_path):
        assert refusal(written(tmp_path, "Part,Jan\nK-1,1\n"), sheet="Usage") == (
            "usage.csv is a csv file and has no sheets; leave --sheet out."
        )
