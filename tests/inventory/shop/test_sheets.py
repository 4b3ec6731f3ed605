"""The sheet of the shop's own settings."""

import pytest

from inventory.shop.models import Change, ShopSettings
from shopparts.workbook.load import load
from shopparts.workbook.registry import sheets
from tests.make import make_user
from tests.shopparts.workbook.book import write_book

pytestmark = pytest.mark.django_db
HEADING = "Service data cost a year"


@pytest.fixture
def loaded(tmp_path):
    def do(head, cells, by=None):
        return load(write_book(tmp_path / "book.xlsx", Shop=[head, cells]), sheets(), by=by)

    return do


class TestShop:
    def test_the_cost_of_service_data_is_read_as_money_and_logged(self, loaded):
        owner = make_user("owner")
        assert loaded([HEADING], ["1,200.50"], by=owner).written
        assert ShopSettings.load().service_data_yearly_cents == 120050
        change = Change.objects.get()
        assert (change.words, change.by) == ("shop settings", owner)
        before, after = (dict(values) for values in (change.before, change.after))
        assert before["service_data_yearly_cents"] == 0
        assert after["service_data_yearly_cents"] == 120050

    def test_a_workbook_without_it_or_with_a_blank_costs_nothing(self, loaded):
        assert loaded(["Shop name"], ["Saltmarsh"]).written
        assert ShopSettings.load().service_data_yearly_cents == 0
        assert loaded(["Shop name", HEADING], ["Saltmarsh", None]).written
        assert ShopSettings.load().service_data_yearly_cents == 0

    def test_less_than_nothing_is_refused(self, loaded):
        report = loaded([HEADING], ["-1.00"])
        assert not report.written
        assert HEADING in str(report.faults[0])
