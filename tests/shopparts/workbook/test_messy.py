"""A messy spreadsheet loaded by the data page: read where it is plain, else told cell by cell."""

from datetime import date
from io import BytesIO

import openpyxl
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from inventory.catalog.models import Part
from inventory.ledger.models import Lot, Shelf
from inventory.reorder.models import Offer
from inventory.shop.models import ShopSettings
from inventory.shop.roles import Role
from shopparts.runs.models import Run
from tests.make import make_part, make_site, make_user
from tests.shopparts.workbook.messy import OFFERS, PARTS, write_messy

pytestmark = pytest.mark.django_db


@pytest.fixture
def manager(client, settings, tmp_path):
    settings.FILES_DIR = tmp_path / "files"
    client.force_login(make_user(Role.PARTS_MANAGER))
    ShopSettings(pk=1, date_order="m/d/Y").save()
    return client


@pytest.fixture
def checked(manager, tmp_path):
    """Have a messy file checked by the page; the run, with what the page tells."""

    def do(**instead):
        path = write_messy(tmp_path / "stock 2026.xlsx", **instead)
        file = SimpleUploadedFile(path.name, path.read_bytes())
        manager.post(reverse("data_check"), {"key": "a" * 24, "file": file})
        return Run.objects.get(kind="check")

    return do


def load(manager, run):
    manager.post(reverse("run_load", args=[run.pk]), {"key": "b" * 24})


def faults(run):
    return {
        (group["title"], fault["row"], fault["column"]): fault["expected"]
        for group in run.told["faults"]
        for fault in group["lines"]
    }


class TestMessy:
    def test_what_is_plain_is_read_as_it_was_meant(self, manager, checked):
        run = checked()
        assert faults(run) == {}
        load(manager, run)
        part = Part.objects.get(number="EX-100")
        # By NIST SP 811 B.8: 65 psi is 448.2 kPa; 35 lbf·in is 3.954 N·m.
        assert (part.kind, part.band_433, part.rated_pressure_kpa) == ("body", True, 448)
        assert (part.valve_nut_torque_cnm, part.list_price_cents) == (800, 4_250)
        kit = Part.objects.get(number="2001")
        assert (kit.valve_nut_torque_cnm, kit.list_price_cents) == (395, 400)
        stem = Part.objects.get(number="EX-200")
        assert (stem.rated_pressure_kpa, stem.list_price_cents) == (450, 121_200)

    def test_counts_and_days_with_words_are_read(self, manager, checked):
        load(manager, checked())
        offers = Offer.objects.order_by("part__number")
        assert [offer.pack for offer in offers] == [10, 1, 4]
        assert [offer.warranty_months for offer in offers] == [24, 24, 12]
        assert {offer.valid_from for offer in offers} == {date(2026, 3, 9)}
        assert {offer.supplier.stated_lead_days for offer in offers} == {2}

    def test_what_is_left_unread_is_named(self, manager, checked):
        told = checked().told["notes"]
        assert told == [
            "Sheet “Parts”: column G has values and no heading and is not read; unmerge its "
            "heading if they are meant.",
            "Sheet “Parts”: row 9 is a total and is not read.",
        ]

    def test_nothing_is_written_while_one_cell_is_in_doubt(self, manager, checked):
        doubtful = [
            ["CVS", "EX-100", "1 box", "€21.37", "25/3/2026", "24 months", None],
            ["CVS", "2001", "10 pcs", "8.5O", "9.3.2026", None, None],
            ["CVS", "EX-200", "4", 6, "3/9/26", None, None],
        ]
        run = checked(Offers=[OFFERS[0], *doubtful])
        assert faults(run) == {
            (
                "Offers",
                2,
                "Pieces in a pack",
            ): "“1 box” is not a whole number; write one such as 4.",
            ("Offers", 2, "Price of a pack"): "“€21.37” is in another currency; write it in USD.",
            ("Offers", 2, "Valid from"): "“25/3/2026” is not a date; write one such as "
            "2026-03-09 or 03/09/2026.",
            ("Offers", 3, "Price of a pack"): "“8.5O” is not an amount of money; write one such as "
            "12.50.",
            ("Offers", 3, "Valid from"): "“9.3.2026” is not a date; write one such as 2026-03-09 "
            "or 03/09/2026.",
            ("Offers", 4, "Valid from"): "“3/9/26” is not a date; write one such as 2026-03-09 or "
            "03/09/2026.",
        }
        assert not Part.objects.exists()
        page = manager.get(reverse("run_detail", args=[run.pk])).content.decode()
        assert "Nothing was written: 6 faults in" in page

    def test_a_part_written_twice_is_told_with_both_rows(self, manager, checked):
        run = checked(Parts=[*PARTS[:-1], ["ex100", "Body", "433"], PARTS[-1]])
        assert faults(run) == {
            ("Parts", 9, "Number"): "The part with the number “ex100” is already in row 5; keep "
            "one of the two.",
        }

    def test_a_sheet_of_another_name_is_known_by_its_headings(self, manager, checked):
        run = checked(Parts=[["Number"]], Parts_March=PARTS)
        assert (
            faults(run)["Parts March", None, ""]
            == "No sheet has this name; by its headings it is “Parts”: name it so, or remove it."
        )

    def test_the_marked_copy_can_be_made_of_merged_cells(self, manager, checked):
        run = checked(Parts=[*PARTS[:5], ["EX-9", "Gadget", None, None, "many"]])
        answer = manager.post(reverse("run_file", args=[run.pk]))
        page = openpyxl.load_workbook(BytesIO(b"".join(answer.streaming_content)))["Parts"]
        assert page["B6"].comment.text.startswith("“Gadget” is none of the choices; write one of:")
        assert page["E6"].comment.text == (
            "“many” is not a pressure; write one such as 35 psi, 240 kPa or 2.4 bar."
        )


SHOP = [["Shop name", "Currency"], ["Saltmarsh Wheel and Tire", "EUR"]]


class TestShopSheet:
    def test_the_currency_stays_once_money_is_written(self, manager, checked):
        manager.force_login(make_user(Role.OWNER))
        make_part(list_price_cents=4_200)
        run = checked(Shop=SHOP, Parts=PARTS[3:4])
        assert faults(run)["Shop", 2, "Currency"].startswith(
            "Amounts are written in USD already, such as the list price of one part, and none is "
        )

    def test_an_empty_shop_takes_another(self, manager, checked):
        manager.force_login(make_user(Role.OWNER))
        run = checked(Shop=SHOP, Parts=[PARTS[3]], Suppliers=[["Code"]], Offers=[OFFERS[0]])
        assert faults(run) == {}
        load(manager, run)
        assert ShopSettings.load().currency == "EUR"

    def test_settings_are_for_an_owner_to_change(self, manager, checked):
        run = checked(Shop=SHOP, Parts=[PARTS[3]], Suppliers=[["Code"]], Offers=[OFFERS[0]])
        assert faults(run) == {
            ("Shop", 2, ""): "Only an owner changes the shop's settings; take this row out or ask "
            "an owner.",
        }


OPENING = [
    ["Key", "Kind", "Happened at", "Part", "Site", "Pieces", "Cost"],
    ["OPENING", "opening", "3/9/2026", "EX-100", "main", "6 pcs", "$126.00"],
    ["OPENING", "opening", "3/9/2026", "2001", "MAIN", 40, "20 USD"],
]


class TestOpeningStock:
    def test_is_a_row_a_part_under_one_key(self, manager, checked):
        site = make_site(code="MAIN")
        run = checked(Postings=OPENING)
        assert faults(run) == {}
        load(manager, run)
        shelves = Shelf.objects.at(site).order_by("part__number")
        assert list(shelves.values_list("part__number", "on_hand")) == [("2001", 40), ("EX-100", 6)]
        assert sum(Lot.objects.values_list("cents_left", flat=True)) == 14_600
