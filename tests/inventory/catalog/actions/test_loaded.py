"""Through a workbook, which is the only caller."""

import pytest

from inventory.shop.models import Change
from shopparts.workbook.load import load
from shopparts.workbook.registry import sheets
from tests.make import make_application, make_fitment, make_part, make_user
from tests.shopparts.workbook.book import write_book

pytestmark = pytest.mark.django_db


@pytest.fixture
def loaded(tmp_path):
    """Load these sheets and tell what the log of changes says of it."""

    def do(by=None, **rows):
        report = load(write_book(tmp_path / "book.xlsx", **rows), sheets(), by=by)
        assert not report.faults
        return [(change.words, change.before, change.after) for change in Change.objects.all()]

    return do


class TestLogApplications:
    HEAD = ["Key", "Make", "Model", "First year", "Last year", "Band"]

    def test_what_a_workbook_changes_is_logged_and_what_it_adds_is_not(self, loaded):
        make_application(key="A", band="433")
        person = make_user("parts_manager")
        rows = [["A", "Merow", "Lista", 2013, 2016, "315"], ["B", "Merow", "Tour", 2013, 2016, ""]]
        for _ in range(2):
            said = loaded(by=person, Applications=[self.HEAD, *rows])
        assert said == [("entry 2013–2016 Merow Lista", {"band": "433"}, {"band": "315"})]
        assert Change.objects.get().by == person


class TestLogParts:
    def test_a_band_that_a_workbook_changes_is_logged(self, loaded):
        make_part(number="EX-1")
        head = ["Number", "Kind", "Bands", "List price"]
        said = loaded(Parts=[head, ["EX-1", "Sensor assembly", "315", 45]])
        ((words, before, after),) = said
        assert words == "part EX-1"
        assert before == {"band_315": False, "band_433": True, "list_price_cents": None}
        assert after == {"band_315": True, "band_433": False, "list_price_cents": 4500}


class TestLogFitments:
    def test_says_which_part_on_which_entry(self, loaded):
        make_fitment(make_application(key="A"), make_part(number="EX-1"))
        head = ["Application", "Part", "Axle", "Preference"]
        said = loaded(Fitments=[head, ["A", "EX-1", "All wheels", 3]])
        assert said == [("EX-1 on 2013–2016 Merow Lista", {"rank": 1}, {"rank": 3})]
