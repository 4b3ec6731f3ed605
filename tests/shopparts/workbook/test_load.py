"""A workbook is loaded whole or not at all, and says where it is wrong."""

import pytest

from inventory.catalog.models import Application, Fitment, Part, PartCode, SellingPrice
from inventory.sheet import Saved
from inventory.shop.models import Change, ShopSettings, Site
from shopparts.workbook.load import load
from shopparts.workbook.registry import sheets
from tests.make import make_application, make_part, make_user
from tests.shopparts.workbook.book import (
    APPLICATIONS_HEAD,
    FITMENTS_HEAD,
    PARTS_HEAD,
    small_catalogue,
    write_book,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def loaded(tmp_path):
    """Write these sheets into a file and load it."""

    def do(_options=None, **rows):
        return load(write_book(tmp_path / "book.xlsx", **rows), sheets(), **(_options or {}))

    return do


def sentences(report):
    return [str(fault) for fault in report.faults]


class TestLoad:
    def test_writes_what_is_right(self, loaded):
        report = loaded(**small_catalogue())
        assert sentences(report) == []
        assert report.written
        assert report.saved["Fitments"] == Saved(added=1)
        fitment = Fitment.objects.get()
        assert (fitment.application.key, fitment.part.number) == ("MEROW-LISTA", "EX-100")

    def test_fills_what_parts_are_looked_up_by(self, loaded):
        loaded(**small_catalogue())
        assert Part.objects.get().number_key == "EX100"
        assert Application.objects.get().search_key == "MEROWLISTA"

    def test_loading_twice_changes_nothing(self, loaded):
        loaded(**small_catalogue())
        again = loaded(**small_catalogue())
        assert again.written
        assert all(saved == Saved(same=1) for saved in again.saved.values())

    def test_changes_what_differs_and_keeps_what_the_sheet_does_not_name(self, loaded):
        part = make_part(number="EX-100", words="two-piece")
        report = loaded(Parts=[["part number", "Made by"], ["ex 100", "Sample"]])
        assert sentences(report) == []
        assert report.saved["Parts"] == Saved(changed=1)
        part.refresh_from_db()
        assert (part.maker, part.words, part.number, part.band_433) == (
            "Sample",
            "two-piece",
            "ex 100",
            True,
        )

    def test_tells_what_would_be_replaced(self, loaded):
        part = make_part(number="EX-100", maker="Before")
        report = loaded({"only_check": True}, Parts=[["Number", "Made by"], ["EX-100", "After"]])
        (change,) = report.changes["Parts"]
        assert (change.pk, change.field, change.before, change.after) == (
            part.pk,
            "maker",
            "Before",
            "After",
        )

    def test_a_check_writes_nothing_and_counts_the_same(self, loaded):
        report = loaded({"only_check": True}, **small_catalogue())
        assert report.saved["Parts"] == Saved(added=1)
        assert not report.written
        assert not Part.objects.exists()

    def test_names_the_place_of_a_number_that_is_text(self, loaded):
        report = loaded(Applications=[APPLICATIONS_HEAD, ["A", "Merow", "Lista", "soon", 2016]])
        assert sentences(report) == [
            "Sheet “Applications”, row 2, column “First year”: “soon” is not a whole number; "
            "write one such as 4."
        ]
        assert not Application.objects.exists()

    def test_refuses_a_fitment_of_an_unknown_part(self, loaded):
        rows = small_catalogue()
        rows["Fitments"] = [*rows["Fitments"], ["MEROW-LISTA", "X-99", ""]]
        report = loaded(**rows)
        assert sentences(report) == [
            "Sheet “Fitments”, row 3, column “Part”: no part has the number “X-99”; add it to the "
            "sheet “Parts” or correct it."
        ]
        assert not report.written
        assert not Part.objects.exists()

    def test_refuses_a_sheet_of_an_unknown_name(self, loaded):
        (said,) = sentences(loaded(Stuff=[["a"], [1]]))
        assert said.startswith("Sheet “Stuff”: no sheet has this name; the sheets are Shop, Sites,")
        assert said.endswith(".")

    def test_an_empty_sheet_of_an_unknown_name_is_no_matter(self, loaded):
        assert loaded(Sheet1=[], **small_catalogue()).written

    def test_refuses_a_value_beyond_the_last_heading(self, loaded):
        report = loaded(Parts=[PARTS_HEAD, ["EX-100", "Kit", "", "oops"]])
        assert sentences(report) == [
            "Sheet “Parts”, row 2: “oops” stands beyond the last heading, in column 4; "
            "head that column or move the value."
        ]

    def test_refuses_two_rows_of_one_key(self, loaded):
        report = loaded(Parts=[PARTS_HEAD, ["EX-100", "Kit", ""], ["ex100", "Kit", ""]])
        assert sentences(report) == [
            "Sheet “Parts”, row 3, column “Number”: the part with the number “ex100” is already in "
            "row 2; keep one of the two."
        ]

    def test_a_rule_of_the_record_is_told_as_a_fault_of_its_row(self, loaded):
        report = loaded(
            Parts=[PARTS_HEAD, ["EX-100", "Sensor body", ""]],
            Applications=[APPLICATIONS_HEAD, ["A", "Merow", "Lista", 2016, 2013]],
        )
        assert sentences(report) == [
            "Sheet “Applications”, row 2: the first model year comes after the last; swap them.",
            "Sheet “Parts”, row 2: a sensor body or assembly needs at least one radio band.",
        ]

    def test_a_number_without_letters_or_digits_is_refused_in_its_column(self, loaded):
        assert sentences(loaded(Parts=[PARTS_HEAD, ["--", "Kit", ""]])) == [
            "Sheet “Parts”, row 2, column “Number”: a part number needs a letter or a digit."
        ]

    def test_one_gtin_names_one_part(self, loaded):
        held = make_part(number="EX-1")
        code = PartCode(part=held, kind="gtin", code="00000000000017")
        code.full_clean()
        code.save()
        make_part(number="EX-2")
        report = loaded(
            Codes=[
                ["Part", "Kind", "Code"],
                ["EX-1", "GTIN", "00000000000017"],
                ["EX-2", "GTIN", "00000000000017"],
                ["EX-1", "GTIN", "00000000000024"],
                ["EX-2", "GTIN", "00000000000024"],
            ]
        )
        again = "another part has this GTIN or label; check the code."
        assert sentences(report) == [
            f"Sheet “Codes”, row 3: {again}",
            f"Sheet “Codes”, row 5: {again}",
        ]

    def test_what_names_a_faulty_row_is_not_blamed_for_it(self, loaded):
        rows = small_catalogue()
        rows["Parts"] = [PARTS_HEAD, ["EX-100", "Sensor assembly", "blue"]]
        report = loaded(**rows)
        assert sentences(report) == [
            "Sheet “Parts”, row 2, column “Bands”: “blue” is none of the choices; write one of: "
            "315 MHz, 433 MHz, another band."
        ]
        assert report.tallies["Fitments"].waiting == 1

    def test_right_rows_alone_can_be_loaded(self, loaded):
        rows = small_catalogue()
        rows["Parts"] = [*rows["Parts"], ["EX-200", "Sensor assembly", "blue"]]
        rows["Fitments"] = [*rows["Fitments"], ["MEROW-LISTA", "EX-200", ""]]
        report = loaded({"right_rows": True}, **rows)
        assert report.written
        assert report.fault_count == 1
        assert [part.number for part in Part.objects.all()] == ["EX-100"]
        assert Fitment.objects.count() == 1

    def test_a_needed_column_that_is_missing_is_named(self, loaded):
        assert sentences(loaded(Parts=[["Number"], ["EX-100"]])) == [
            "Sheet “Parts”, row 1, column “Kind”: this column is missing, and a new part needs it; "
            "add the column."
        ]

    def test_a_heading_nearly_right_is_not_passed_over(self, loaded):
        rows = [[*PARTS_HEAD, "List pirce"], ["EX-100", "Kit", "", 4.5]]
        assert sentences(loaded(Parts=rows)) == [
            "Sheet “Parts”, row 1, column “List pirce”: no column has this heading; write "
            "“List price” or remove the column."
        ]

    def test_a_column_of_the_shops_own_is_named_and_passed_over(self, loaded):
        report = loaded(Parts=[[*PARTS_HEAD, "Colour of box"], ["EX-100", "Kit", "", "red"]])
        assert report.written
        assert report.notes == ("Sheet “Parts”: the column “Colour of box” is not read.",)

    def test_a_sheet_without_headings_is_told_what_they_are(self, loaded):
        (said,) = sentences(loaded(Bins=[["here"], ["there"]]))
        assert said == (
            "Sheet “Bins”, row 1: no headings found in the first 20 rows; head the columns: "
            "Site, Code, Where it is, Kind."
        )

    def test_reads_units_in_cells_and_headings(self, loaded):
        head = [*APPLICATIONS_HEAD, "Placard front", "Placard rear (kPa)", "Lug nut torque"]
        report = loaded(
            Applications=[
                head,
                ["A", "Merow", "Lista", 2013, "2016", "35 psi", 240, "80 ft-lb"],
                ["B", "Merow", "Lista", 2013, 2016.0, 35, "2.4 bar", "110 N·m"],
            ]
        )
        assert sentences(report) == []
        # 35 psi = 241.3 kPa and 80 lbf·ft = 108.47 N·m (NIST SP 811 App. B.8 factors, computed).
        assert list(
            Application.objects.values_list(
                "placard_front_kpa", "placard_rear_kpa", "wheel_nut_torque_cnm"
            )
        ) == [(241, 240, 10847), (241, 240, 11000)]

    def test_the_shops_own_sheet_says_how_money_is_read(self, loaded):
        report = loaded(
            Shop=[["Currency", "Digits after the point", "Labor rate"], ["JPY", 0, 9000]],
            Parts=[[*PARTS_HEAD, "List price"], ["EX-100", "Kit", "", 450]],
        )
        assert sentences(report) == []
        assert ShopSettings.load().labour_price_cents == 9000
        assert Part.objects.get().list_price_cents == 450

    def test_prices_are_logged_with_who_loaded_them(self, loaded):
        owner = make_user("owner")
        make_part(number="EX-100")
        head = ["Part", "From", "Price"]
        loaded({"by": owner}, Selling_prices=[head, ["EX-100", "2026-03-01", 59.9]])
        loaded({"by": owner}, Selling_prices=[head, ["EX-100", "2026-03-01", "61.50"]])
        added, changed = Change.objects.order_by("pk")
        assert added.words == "price of EX-100 from 2026-03-01"
        assert added.after["price_cents"] == 5990
        assert (changed.before, changed.after) == ({"price_cents": 5990}, {"price_cents": 6150})
        assert changed.by == owner
        assert SellingPrice.objects.get().price_cents == 6150

    def test_takes_the_same_number_of_queries_for_more_rows(
        self, loaded, django_assert_max_num_queries
    ):
        make_application(key="A")
        parts = [[f"EX-{number}", "Kit", ""] for number in range(400)]
        fits = [["A", f"EX-{number}", ""] for number in range(400)]
        # A bulk insert on SQLite takes several statements; none is made for one row.
        with django_assert_max_num_queries(60):
            report = loaded(Parts=[PARTS_HEAD, *parts], Fitments=[FITMENTS_HEAD, *fits])
        assert report.saved["Fitments"] == Saved(added=400)

    def test_a_site_is_known_whatever_the_case_of_its_code(self, loaded):
        report = loaded(
            Sites=[["Code", "Name"], ["Main", "Main shop"]],
            Bins=[["Site", "Code"], ["MAIN", "A-1"], ["main", "a-1"]],
        )
        assert sentences(report) == [
            "Sheet “Bins”, row 3, column “Code”: the bin with the site “main” and the code “a-1” "
            "is already in row 2; keep one of the two."
        ]
        assert not Site.objects.exists()

    def test_a_rule_of_a_column_is_told_in_its_own_words(self, loaded):
        rows = [["Code", "Name", "Time zone"], ["Main", "Main shop", "Mars/Base"]]
        assert sentences(loaded(Sites=rows)) == [
            "Sheet “Sites”, row 2, column “Time zone”: “Mars/Base” is not a time zone; write one "
            "such as America/Chicago or Europe/Oslo."
        ]

    def test_a_file_that_is_no_workbook_is_refused(self, tmp_path):
        path = tmp_path / "book.xlsx"
        path.write_bytes(b"PK\x03\x04 and then nothing")
        assert sentences(load(path, sheets())) == [
            "The file “book.xlsx” is damaged; open it in a spreadsheet program and save it again."
        ]


class TestCsv:
    def test_a_csv_file_is_the_sheet_of_its_name(self, tmp_path):
        path = tmp_path / "parts.csv"
        path.write_text("Number;Kind;Bands\nEX-100;Sensor body;315/433\n", encoding="utf-8")
        report = load(path, sheets())
        assert sentences(report) == []
        part = Part.objects.get()
        assert (part.band_315, part.band_433) == (True, True)

    def test_a_ragged_row_is_refused(self, tmp_path):
        path = tmp_path / "anything.csv"
        path.write_text("Number,Kind\nEX-100,Kit,3\nEX-200\n", encoding="utf-8")
        assert sentences(load(path, sheets(), csv_sheet="Parts")) == [
            "Sheet “Parts”, row 2: “3” stands beyond the last heading, in column 3; head "
            "that column or move the value.",
            "Sheet “Parts”, row 3: the row has 1 cells and the headings are 2; fill in the "
            "separators that are missing.",
        ]

    def test_another_encoding_is_refused(self, tmp_path):
        path = tmp_path / "parts.csv"
        path.write_bytes("Number,Kind\nEX-100,Kitté\n".encode("cp1252"))
        assert sentences(load(path, sheets())) == [
            "The file “parts.csv” is not written in UTF-8; save it as “CSV UTF-8” or .xlsx."
        ]
