"""The two commands: what they print, what they return, what they leave behind."""

import json
from io import StringIO

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from inventory.catalog.models import Part
from shopparts.workbook.registry import sheets
from tests.make import make_part
from tests.shopparts.workbook.book import PARTS_HEAD, small_catalogue, write_book

pytestmark = pytest.mark.django_db


def run(*words, **options):
    out, err = StringIO(), StringIO()
    code: object = 0
    try:
        call_command(*map(str, words), stdout=out, stderr=err, **options)
    except SystemExit as ended:
        code = ended.code
    return code, out.getvalue(), err.getvalue()


class TestLoadWorkbook:
    def test_says_per_sheet_what_it_did(self, tmp_path):
        path = write_book(tmp_path / "book.xlsx", **small_catalogue())
        code, out, _ = run("load_workbook", path)
        assert code == 0
        assert out.splitlines() == [
            "Applications: 1 rows, added 1, changed 0, same 0",
            "Parts: 1 rows, added 1, changed 0, same 0",
            "Fitments: 1 rows, added 1, changed 0, same 0",
            "Loaded.",
        ]

    def test_faults_end_with_code_1_and_nothing_written(self, tmp_path):
        path = write_book(tmp_path / "book.xlsx", Parts=[PARTS_HEAD, ["EX-1", "Thing", ""]])
        code, out, err = run("load_workbook", path)
        assert code == 1
        assert err.startswith("Sheet “Parts”, row 2, column “Kind”: “Thing” is none of the choices")
        assert out.endswith("Nothing was written: 1 to correct.\n")
        assert not Part.objects.exists()

    def test_a_file_that_is_not_there(self, tmp_path):
        code, _, err = run("load_workbook", tmp_path / "gone.xlsx")
        assert code == 1
        assert err == (
            "The file “gone.xlsx” cannot be opened (No such file or directory); check its name and "
            "place.\n"
        )

    def test_a_check_writes_nothing(self, tmp_path):
        path = write_book(tmp_path / "book.xlsx", **small_catalogue())
        code, out, _ = run("load_workbook", path, "--check")
        assert code == 0
        assert out.endswith("All right. Nothing was written: this was a check.\n")
        assert not Part.objects.exists()

    def test_answers_as_json(self, tmp_path):
        path = write_book(tmp_path / "book.xlsx", Parts=[PARTS_HEAD, ["EX-1", "Kit", "blue"]])
        code, out, _ = run("load_workbook", path, "--json")
        assert code == 1
        answer = json.loads(out)
        assert answer["written"] is False
        assert answer["sheets"]["Parts"] == {"rows": 1, "right": 0, "waiting": 0}
        (fault,) = answer["faults"]
        assert (fault["sheet"], fault["row"], fault["column"], fault["said"]) == (
            "Parts",
            2,
            "Bands",
            "blue",
        )


class TestSaveWorkbook:
    def test_a_template_loads_and_adds_nothing(self, tmp_path):
        code, _, _ = run("save_workbook", tmp_path / "template.xlsx", "--template")
        assert code == 0
        code, out, err = run("load_workbook", tmp_path / "template.xlsx")
        assert (code, err) == (0, "")
        assert out.count("0 rows, added 0, changed 0, same 0") == len(sheets())

    def test_one_sheet_as_csv(self, tmp_path):
        make_part(number="=EX", words="with, comma")
        run("save_workbook", tmp_path / "parts.csv", "--sheet", "Parts")
        text = (tmp_path / "parts.csv").read_text(encoding="utf-8-sig")
        assert text.splitlines()[1].startswith('\'=EX,Sensor assembly,,"with, comma",433 MHz,')
        code, out, err = run("load_workbook", tmp_path / "parts.csv")
        assert (code, err) == (0, "")
        assert "Parts: 1 rows, added 0, changed 0, same 1" in out

    def test_a_folder_that_is_not_there_is_refused(self, tmp_path):
        with pytest.raises(CommandError) as refused:
            call_command("save_workbook", str(tmp_path / "gone" / "all.xlsx"))
        assert str(refused.value) == (
            f"There is no folder “{tmp_path}/gone”; make it, or choose another place."
        )

    def test_an_unknown_sheet_is_refused(self, tmp_path):
        with pytest.raises(CommandError) as refused:
            call_command("save_workbook", str(tmp_path / "x.csv"), "--sheet", "Stuff")
        known = ", ".join(sheets())
        assert str(refused.value) == f"No sheet is called “Stuff”; choose one of: {known}."
