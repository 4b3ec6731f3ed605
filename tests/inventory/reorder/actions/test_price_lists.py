from datetime import date

import pytest
from django.core.exceptions import ValidationError

from inventory.reorder.actions.price_lists import accept_list, match_columns, upload_prices
from inventory.reorder.models import Offer, PriceList
from inventory.reorder.price_file import PriceTable
from tests.make import make_offer, make_part, make_supplier

pytestmark = pytest.mark.django_db

TABLE = PriceTable(heads=["Item", "Price"], rows=[["QX-4410", "21.37"], ["RZ-77", "no price"]])
COLUMNS = {"part": "Item", "price": "Price", "per": "pack", "mark": "."}
APRIL = date(2026, 4, 1)


@pytest.fixture
def supplier():
    supplier = make_supplier()
    for number in ("QX-4410", "RZ-77"):
        make_offer(supplier, make_part(number=number), pack_price_cents=2_000)
    return supplier


def upload(supplier, key="l-1"):
    return upload_prices(supplier, key=key, file_name="april.csv", table=TABLE, by=None)


def matched(supplier, key="l-1", columns=COLUMNS):
    return match_columns(upload(supplier, key), columns=columns, valid_from=APRIL, by=None)


class TestUploadPrices:
    def test_once_per_key_and_one_that_waits(self, supplier):
        assert upload(supplier) == upload(supplier)
        upload(supplier, key="l-2")
        assert [one.key for one in PriceList.objects.all()] == ["l-2"]

    def test_remembers_the_columns_of_the_last_list(self, supplier):
        accept_list(matched(supplier, columns=COLUMNS | {"per": "piece"}), by=None)
        assert upload(supplier, key="l-2").columns["per"] == "piece"


class TestMatchColumns:
    @pytest.mark.parametrize(
        ("change", "sentence"),
        [
            ({"price": ""}, "Choose the column of the part's code and that of the price."),
            (
                {"price": "Item"},
                "One column is chosen for two things; choose another for one.",
            ),
        ],
    )
    def test_refuses_what_cannot_be_read(self, supplier, change, sentence):
        with pytest.raises(ValidationError) as refused:
            matched(supplier, columns=COLUMNS | change)
        assert refused.value.messages == [sentence]

    def test_refuses_a_list_that_was_accepted(self, supplier):
        accept_list(matched(supplier), by=None)
        with pytest.raises(ValidationError) as refused:
            matched(supplier)
        assert refused.value.messages == [
            "“april.csv” was accepted already; upload the next list to change prices again."
        ]


class TestAcceptList:
    def test_writes_sound_rows_as_offers_from_their_day(self, supplier):
        accepted = accept_list(matched(supplier), by=None)
        offer = Offer.objects.get(valid_from=APRIL)
        assert (offer.part.number, offer.pack_price_cents) == ("QX-4410", 2_137)
        assert accepted.words == "1 offer written, 1 row left out"
        assert Offer.objects.valid_on(date(2026, 3, 31)).filter(part=offer.part).count() == 1

    def test_a_second_click_changes_nothing(self, supplier):
        listed = matched(supplier)
        for _ in range(2):
            accept_list(listed, by=None)
        assert Offer.objects.filter(valid_from=APRIL).count() == 1

    def test_refuses_before_the_columns_are_matched(self, supplier):
        with pytest.raises(ValidationError) as refused:
            accept_list(upload(supplier), by=None)
        assert refused.value.messages == [
            "Say what the columns mean first, and from when the prices hold."
        ]
