"""What the ledger's sheets refuse, and what they work out where a cell is blank."""

from datetime import UTC, datetime

import pytest

from inventory.ledger.actions import hold_parts, issue_stock, log_ask, send_transfer, settle_ask
from inventory.ledger.audit import audit
from inventory.ledger.models import Ask, AskOutcome, Hold, How, Lot, Posting, Shelf, Transfer
from inventory.shop.models import SiteKind
from shopparts.workbook.load import load
from shopparts.workbook.registry import sheets
from tests.make import make_part, make_site, make_stock
from tests.shopparts.workbook.book import write_book

pytestmark = pytest.mark.django_db

NINE = "2026-03-09T09:00:00Z"
POSTING = ["Key", "Kind", "Happened at", "Part", "Site", "Pieces", "Value"]
ASK = ["Ask", "Part", "Site", "Pieces", "At"]
OUTCOME = ["Key", "Ask", "How", "Pieces", "At", "Posting"]
HOLD = ["Key", "Part", "Site", "Pieces", "Pieces promised", "Job", "Made at"]
TRANSFER = ["Key", "Part", "From site", "To site", "Pieces", "Sent", "Received", "Sends back"]


@pytest.fixture
def site():
    return make_site(code="QUAY", name="Quay", zone="America/Chicago")


@pytest.fixture
def loaded(tmp_path):
    def load_rows(**rows):
        return load(write_book(tmp_path / "book.xlsx", **rows), sheets())

    return load_rows


def is_loaded(report):
    assert [str(fault) for fault in report.faults] == []
    return report.written


def faults_of(report):
    assert not report.written
    return [str(fault) for fault in report.faults]


@pytest.mark.usefixtures("site", "kit")
class TestPostings:
    def test_blank_cells_are_worked_out(self, loaded):
        report = loaded(
            Postings=[
                POSTING,
                ["out", "Issued", "2026-03-09T10:00:00Z", "KT-4", "QUAY", -3],
                ["in", "Received", NINE, "KT-4", "QUAY", 7, 10],
            ]
        )
        assert is_loaded(report)
        assert list(Lot.objects.values_list("key", "pieces_left", "cents_left")) == [
            ("in/1", 4, 571)
        ]
        assert Ask.objects.get().pieces == 3
        assert audit() == []

    def test_what_is_not_there_is_told_where_it_stands(self, loaded):
        report = loaded(Postings=[POSTING, ["out", "Issued", NINE, "KT-4", "QUAY", -3]])
        assert faults_of(report) == [
            "Sheet “Postings”, row 2, column “Pieces”: only 0 of KT-4 on the shelf at Quay "
            "by then, not 3; post 0 or fewer, or receive stock first."
        ]
        assert not Posting.objects.exists()

    def test_only_a_count_that_agreed_has_no_part(self, loaded):
        report = loaded(
            Postings=[
                POSTING,
                ["c", "Counted", NINE, None, None, None],
                ["i", "Issued", NINE, None, None, None],
                ["n", "Counted", NINE, "KT-4", "QUAY", None],
            ]
        )
        told = "the cell is blank; only a count that agreed has no part, site and pieces."
        assert faults_of(report) == [
            f"Sheet “Postings”, row 3, column “Part”: {told}",
            f"Sheet “Postings”, row 4, column “Pieces”: {told}",
        ]

    def test_a_posting_that_is_there_is_left_alone(self, loaded, kit, site):
        make_stock(kit, site, pieces=4, key="in")
        report = loaded(Postings=[POSTING, ["in", "Received", NINE, "KT-4", "QUAY", 700, 10]])
        assert (report.saved["Postings"].added, report.saved["Postings"].same) == (0, 1)
        assert Shelf.objects.get().on_hand == 4


class TestAsks:
    def test_a_blank_day_is_the_sites_own(self, loaded, site, kit):
        loaded(Asks=[ASK, ["a", "KT-4", "QUAY", 1, "2026-03-09T03:00:00Z"]])
        assert str(Ask.objects.get().day) == "2026-03-08"

    def test_what_was_asked_is_not_asked_otherwise(self, loaded, site, kit):
        at = datetime(2026, 3, 9, 9, tzinfo=UTC)
        log_ask(kit, site=site, pieces=1, by=None, key="a", at=at)
        assert faults_of(loaded(Asks=[ASK, ["a", "KT-4", "QUAY", 2, NINE]])) == [
            "Sheet “Asks”, row 2: this ask is recorded already and never changes; "
            "leave the row as it was."
        ]

    def test_no_more_comes_of_an_ask_than_was_asked(self, loaded, site, kit):
        ask = log_ask(kit, site=site, pieces=3, by=None, key="a")
        settle_ask(ask, how=How.LOST, pieces=2)
        report = loaded(Ask_outcomes=[OUTCOME, ["a/9", "a", "Waited", 2, NINE]])
        assert faults_of(report) == [
            "Sheet “Ask outcomes”, row 2, column “Pieces”: 3 of ask “a” were asked for, "
            "and its outcomes are of 4; correct them."
        ]
        assert AskOutcome.objects.count() == 1

    def test_no_more_is_taken_back_than_was_said(self, loaded, site, kit):
        log_ask(kit, site=site, pieces=3, by=None, key="a")
        report = loaded(Ask_outcomes=[OUTCOME, ["a/9", "a", "Waited", -2, NINE]])
        assert faults_of(report) == [
            "Sheet “Ask outcomes”, row 2, column “Pieces”: of ask “a” 2 more are taken back "
            "than were said to be “Waited”; correct them."
        ]


class TestHolds:
    def test_a_hold_promises_pieces_of_its_shelf(self, loaded, site, kit):
        make_stock(kit, site, pieces=4)
        assert is_loaded(loaded(Holds=[HOLD, ["h", "KT-4", "QUAY", 3, None, "J-1", NINE]]))
        assert Hold.objects.get().pieces_promised == Shelf.objects.get().held == 3
        assert audit() == []

    def test_no_more_is_promised_than_is_there(self, loaded, site, kit):
        make_stock(kit, site, pieces=2)
        report = loaded(Holds=[HOLD, ["h", "KT-4", "QUAY", 3, None, "J-1", NINE]])
        assert faults_of(report) == [
            "Sheet “Holds”, row 2, column “Pieces”: only 2 of KT-4 on the shelf at Quay, not 3; "
            "hold 2 or fewer, or receive stock first."
        ]

    def test_a_promise_is_not_less_than_is_left_of_it(self, loaded, site, kit):
        report = loaded(
            Holds=[
                HOLD,
                ["h", "KT-4", "QUAY", 3, 2, "J-1", NINE],
                ["i", "KT-4", "QUAY", 0, None, "J-1", NINE],
            ]
        )
        assert faults_of(report) == [
            "Sheet “Holds”, row 2, column “Pieces”: a hold cannot cover more than was promised.",
            "Sheet “Holds”, row 3, column “Pieces promised”: nothing of it is left, so write "
            "how many were promised.",
        ]

    def test_what_was_promised_is_left_alone(self, loaded, site, kit):
        make_stock(kit, site, pieces=4)
        hold_parts(kit, site=site, pieces=2, job_key="J-1", by=None, key="h")
        report = loaded(Holds=[HOLD, ["h", "KT-4", "QUAY", 1, 2, "J-1", NINE]])
        assert report.saved["Holds"].same == 1
        assert Hold.objects.get().pieces == 2

    def test_the_promise_an_issue_used_up_is_of_its_part(self, loaded, site, kit):
        make_part(kind="kit", number="KT-5")
        make_stock(kit, site, pieces=4)
        report = loaded(
            Postings=[
                [*POSTING, "Hold"],
                ["out", "Issued", NINE, "KT-4", "QUAY", -1, None, "h"],
            ],
            Holds=[HOLD, ["h", "KT-5", "QUAY", 0, 1, "J-1", NINE]],
        )
        assert faults_of(report) == [
            "Sheet “Holds”, row 2, column “Part”: a posting used it up for KT-4 at Quay; "
            "correct the part or the site."
        ]


class TestTransfers:
    @pytest.fixture
    def far(self, kit, site):
        make_stock(kit, site, pieces=4)
        make_site(kind=SiteKind.TRANSIT, code="ROAD")
        return make_site(code="YARD")

    def sent(self, kit, site, far):
        """The posting of a transfer whose record does not come along."""
        transfer = send_transfer(kit, from_site=site, to_site=far, pieces=3, by=None, key="t")
        Transfer.objects.filter(pk=transfer.pk).delete()

    def test_a_transfer_names_what_moved_its_pieces(self, loaded, kit, site, far):
        self.sent(kit, site, far)
        assert is_loaded(loaded(Transfers=[TRANSFER, ["t", "KT-4", "QUAY", "YARD", 3, "t"]]))
        transfer = Transfer.objects.on_the_road().get()
        assert (transfer.sent.key, transfer.pieces) == ("t", 3)

    def test_one_that_its_posting_did_not_send_is_refused(self, loaded, kit, site, far):
        self.sent(kit, site, far)
        issue_stock(kit, site=site, pieces=1, by=None, key="i")
        for row in (["t", "KT-4", "QUAY", "YARD", 2, "t"], ["t", "KT-4", "QUAY", "YARD", 1, "i"]):
            assert faults_of(loaded(Transfers=[TRANSFER, row])) == [
                "Sheet “Transfers”, row 2, column “Sent”: this posting does not send that many "
                "of the part from there; correct it."
            ]

    def test_one_that_did_not_arrive_is_refused(self, loaded, kit, site, far):
        self.sent(kit, site, far)
        row = ["t", "KT-4", "QUAY", "YARD", 3, "t", "t"]
        assert faults_of(loaded(Transfers=[TRANSFER, row])) == [
            "Sheet “Transfers”, row 2, column “Received”: this posting brings nothing of the part "
            "to that site; correct it."
        ]

    def test_a_site_sends_nothing_to_itself(self, loaded, kit, site, far):
        self.sent(kit, site, far)
        assert faults_of(loaded(Transfers=[TRANSFER, ["t", "KT-4", "QUAY", "QUAY", 3, "t"]])) == [
            "Sheet “Transfers”, row 2: a transfer needs two different sites."
        ]

    def test_one_that_is_there_is_left_alone(self, loaded, kit, site, far):
        send_transfer(kit, from_site=site, to_site=far, pieces=3, by=None, key="t")
        report = loaded(Transfers=[TRANSFER, ["t", "KT-4", "QUAY", "YARD", 2, "t"]])
        assert report.saved["Transfers"].same == 1
        assert Transfer.objects.get().pieces == 3
