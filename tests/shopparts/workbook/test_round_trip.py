"""What is saved loads into an empty shop as the same shop, record by record."""

import tempfile
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from django.core.serializers import serialize
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from inventory.catalog.models import (
    Application,
    Evidence,
    Fitment,
    MadeOf,
    Part,
    PartCode,
    SellingPrice,
    Supersession,
    VinPattern,
)
from inventory.shop.models import Bin, ShopSettings, Site
from shopparts.models import User
from shopparts.workbook.load import load
from shopparts.workbook.registry import sheets
from shopparts.workbook.writer import HEADING_ROW, write_workbook
from tests.make import make_application, make_bin, make_fitment, make_part, make_site, make_user

CHILDREN = [VinPattern, Evidence, SellingPrice, Supersession, Fitment, MadeOf, PartCode]
MODELS = [*CHILDREN, Part, Application, Bin, User, Site]


def make_small_shop():
    shop = ShopSettings.load()
    shop.name, shop.address, shop.labour_price_cents = "=Our shop", "1 Street\r\nTown ", 12_050
    shop.save()
    site = make_site(code="Main", zone="America/Chicago", asks_logged_from=date(1899, 12, 31))
    make_bin(site, code="A-1", words="left")
    owner = make_user("owner", username="robin", home_site=site, first_name="Robin")
    whole = make_part(
        number="-EX 1",
        words="=1+1",
        maker="'quoted'",
        band_315=True,
        rated_pressure_kpa=451,
        valve_nut_torque_cnm=801,
        list_price_cents=1,
        hole="625",
        mounting="snap_in",
        counted="not",
    )
    piece = make_part("stem", number="00123", list_price_cents=2_147_483_647)
    code = PartCode(part=whole, kind="printed", code="@EX/7")
    code.full_clean()
    code.save()
    MadeOf.objects.create(whole=whole, piece=piece, quantity=2)
    Supersession.objects.create(old=whole, new=piece, both_ways=True, since=date(2026, 1, 5))
    SellingPrice.objects.create(part=whole, valid_from=date(2026, 1, 5), price_cents=1010)
    application = make_application(
        key="K 1", built_from=date(2013, 4, 1), placard_spare_kpa=421, relearn="drive", trim="+"
    )
    make_application(key="K 2", system="indirect", band="")
    make_fitment(application, whole, axle="front", rank=2, prepared_as=" two ")
    Evidence.objects.create(
        application=application,
        part=whole,
        kind="contradicted",
        reason="#N/A",
        job_key="J-1",
        at=datetime(2026, 3, 9, 14, 5, 1, 123456, tzinfo=UTC),
        by=owner,
    )
    VinPattern.objects.create(start="ZZZ12345", year=2014, application=application)


def everything():
    """Every record by natural values: without primary keys, which a new shop gives anew."""
    rows = {title: list(sheet.rows()) for title, sheet in sheets().items()}
    looked_up = [
        *Part.objects.order_by("number").values_list("number", "number_key"),
        *Application.objects.order_by("key").values_list("key", "search_key"),
        *PartCode.objects.order_by("code").values_list("code", "code_key"),
    ]
    return rows, looked_up


def empty_the_shop():
    for model in MODELS:
        model._default_manager.all().delete()
    ShopSettings.objects.all().delete()


@pytest.mark.django_db
class TestRoundTrip:
    def test_an_empty_shop_becomes_the_same_shop(self, tmp_path):
        make_small_shop()
        before = everything()
        write_workbook(tmp_path / "all.xlsx", sheets(), minor_digits=2)
        empty_the_shop()
        report = load(tmp_path / "all.xlsx", sheets())
        assert [str(fault) for fault in report.faults] == []
        assert everything() == before

    def test_loading_it_where_it_came_from_changes_nothing(self, tmp_path):
        make_small_shop()
        before = serialize("json", [*Part.objects.all(), *Application.objects.all()])
        write_workbook(tmp_path / "all.xlsx", sheets(), minor_digits=2)
        report = load(tmp_path / "all.xlsx", sheets())
        assert {(saved.added, saved.changed) for saved in report.saved.values()} == {(0, 0)}
        assert sum(saved.same for saved in report.saved.values()) == 15
        assert serialize("json", [*Part.objects.all(), *Application.objects.all()]) == before

    def test_no_cell_holds_a_formula(self, tmp_path):
        make_small_shop()
        write_workbook(tmp_path / "all.xlsx", sheets(), minor_digits=2)
        book: Any = openpyxl.load_workbook(tmp_path / "all.xlsx")
        cells = [cell for page in book.worksheets for row in page.iter_rows() for cell in row]
        assert not [cell.coordinate for cell in cells if cell.data_type == "f"]
        texts = [cell.value for cell in cells if isinstance(cell.value, str)]
        assert not [text for text in texts if text.startswith(("=", "+", "-", "@", "\t", "\r"))]

    def test_writes_amounts_and_dates_as_a_spreadsheet_counts_them(self, tmp_path):
        make_small_shop()
        write_workbook(tmp_path / "all.xlsx", sheets(), minor_digits=2)
        book: Any = openpyxl.load_workbook(tmp_path / "all.xlsx")
        page = book["Selling prices"]
        assert [cell.value for cell in page[HEADING_ROW]] == ["Part", "From", "Price"]
        part, day, price = page[HEADING_ROW + 1]
        assert part.value == "'-EX 1"
        assert (day.value.date(), day.number_format) == (date(2026, 1, 5), "yyyy-mm-dd")
        assert price.value == 10.1

    def test_every_sheet_says_what_it_is_for_and_offers_its_words(self, tmp_path):
        write_workbook(tmp_path / "empty.xlsx", sheets(), minor_digits=2, template=True)
        book: Any = openpyxl.load_workbook(tmp_path / "empty.xlsx")
        for title, sheet in sheets().items():
            page = book[title]
            assert page["A1"].value == f"{title}. {sheet.note}"
            assert page["A3"].value.startswith("Example: ")
            assert page.max_row == HEADING_ROW
        rules = {
            str(rule.sqref): rule.formula1
            for rule in book["Fitments"].data_validations.dataValidation
        }
        assert rules["B5:B1048576"] == "='Parts'!$A$5:$A$1048576"
        column = rules["C5:C1048576"].split("$")[1]
        words = [row[0].value for row in book["Choices"][f"{column}1:{column}4"]]
        assert words == ["All wheels", "Front", "Rear", "Spare"]


class TestAnyText(TestCase):
    @settings(max_examples=40, deadline=None)
    @given(words=st.text(st.characters(exclude_characters="\0", codec="utf-8"), max_size=60))
    def test_comes_back_from_a_workbook(self, words):
        Site.objects.all().delete()
        site = Site.objects.create(code="S", name=words or "-", zone="UTC")
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "all.xlsx"
            write_workbook(path, {"Sites": sheets()["Sites"]}, minor_digits=2)
            Site.objects.all().update(name="another")
            report = load(path, sheets())
        assert [str(fault) for fault in report.faults] == []
        site.refresh_from_db()
        assert site.name == (words or "-")
