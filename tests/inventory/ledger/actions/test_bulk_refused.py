"""What many rows at once are refused for, each by its row and in a sentence."""

import pytest

from inventory.catalog.models import Counted, PartKind
from inventory.ledger.actions import hold_parts, record_postings
from inventory.ledger.models import Condition
from inventory.shop.models import SiteKind
from tests.inventory.ledger.actions.bulk_rows import refusal_of, rows_of
from tests.make import make_bin, make_part, make_site, make_stock

pytestmark = pytest.mark.django_db


@pytest.fixture
def row(kit, site):
    return rows_of(kit, site)


class TestRefusedRowError:
    def test_a_hold_gives_no_more_than_it_has(self, row, kit, site):
        make_stock(kit, site, pieces=4)
        hold_parts(kit, site=site, pieces=1, job_key="J-1", by=None, key="h")
        assert refusal_of(row("issued", -2, hold="h")) == (
            1,
            "The hold for J-1 has 1 left, not 2; correct how many it gave.",
        )

    def test_an_undo_answers_every_movement(self, row):
        record_postings(
            [
                row("received", 1, cents=10), row("received", 1, cents=11),
                row("issued", -2, key="i"),
            ]
        )  # fmt: skip
        assert refusal_of(row("undone", 1, of="i/1", undoes="i")) == (
            4,
            "An undo answers every movement of “i”, from 1 to 2; add the rows that are missing.",
        )

    def test_what_left_opened_does_not_come_back_sealed(self, row):
        rows = [
            row("received", 1, cents=10, key="in", condition="checked"),
            row("issued", -1, key="out"),
        ]
        assert refusal_of(*rows, row("returned", 1, of="out/1")) == (
            3,
            "KT-4 left opened and cannot come back sealed; return it as opened or checked.",
        )

    def test_says_by_row_what_was_not_there_by_then(self, row):
        rows = [row("received", 3, cents=30), row("issued", -4), row("received", 9, cents=90)]
        assert refusal_of(*rows) == (
            2,
            "Only 3 of KT-4 on the shelf at Quay by then, not 4; "
            "post 3 or fewer, or receive stock first.",
        )

    def test_leaves_what_is_promised(self, row, kit, site):
        make_stock(kit, site, pieces=2)
        hold_parts(kit, site=site, pieces=2, job_key="J-1", by=None, key="h")
        issued = row("issued", -1)
        assert refusal_of(issued) == (
            issued.index,
            "All 2 of KT-4 at Quay are promised to jobs; release a hold or receive stock first.",
        )

    def test_what_an_issue_took_cannot_come_back_twice(self, row):
        rows = [
            row("received", 3, cents=30),
            row("issued", -2, key="i"),
            row("returned", 1, of="i/1"),
            row("returned", 2, of="i/1"),
        ]
        assert refusal_of(*rows) == (
            4,
            "Only 1 pieces of movement “i/1” are open, not 2; answer fewer.",
        )

    def test_a_posting_is_undone_once(self, row):
        rows = [
            row("received", 3, cents=30, key="a"),
            row("undone", -3, of="a/1", undoes="a"),
            row("undone", -3, of="a/1", undoes="a"),
        ]
        assert refusal_of(*rows) == (3, "“a” was undone already; leave the row out.")

    @pytest.mark.parametrize(
        ("kind", "pieces", "facts", "sentence"),
        [
            ("received", -1, {}, "Pieces of kind “Received” are above 0; "
             "correct the sign or the kind."),
            ("issued", 1, {}, "Pieces of kind “Issued” are below 0; correct the sign or the kind."),
            ("received", 1, {}, "The value is missing; write what they cost."),
            ("received", 1, {"cents": -5}, "Pieces and their value move the same way; "
             "correct the sign."),
            ("counted", 1, {}, "KT-4 was never bought, so its cost is not known; "
             "write what they cost."),
            ("counted", 0, {}, "No pieces and no correction of a lot's value; say which."),
            ("returned", 1, {}, "Kind “Returned by a job” answers a movement; "
             "name it, such as EX-P-17/1."),
            ("returned", 1, {"of": "x/1"}, "No movement “x/1” to answer; "
             "correct its key and number."),
            ("returned", 1, {"of": "x"}, "No movement “x” to answer; "
             "correct its key and number."),
            ("returned", 1, {"of": "x/one"}, "No movement “x/one” to answer; "
             "correct its key and number."),
            ("undone", 1, {"of": "x/1"}, "An undo names the posting it undoes, "
             "and nothing else does."),
            ("undone", 1, {"of": "x/1", "undoes": "x"}, "No posting “x” to undo; correct the key."),
            ("issued", -1, {"lot": "x/1"}, "No lot “x/1” of this part lies at this site; "
             "leave the lot blank for the oldest first."),
            ("moved", 1, {}, "More pieces arrive than left; correct it."),
            ("received", 1, {"cents": 5, "condition": "prepared"}, "A prepared sensor is kept "
             "for one job; write which."),
        ],
    )  # fmt: skip
    def test_says_what_a_row_lacks(self, row, kind, pieces, facts, sentence):
        assert refusal_of(row(kind, pieces, **facts)) == (1, sentence)

    def test_what_leaves_must_arrive(self, row):
        record_postings([row("received", 3, cents=30)])
        assert refusal_of(row("moved", -1)) == (2, "-10 cents come in more than go out; "
                                                   "correct the values.")  # fmt: skip

    def test_rows_of_one_posting_agree(self, row):
        rows = [row("received", 1, cents=5, key="a"), row("opening", 1, cents=5, key="a")]
        assert refusal_of(*rows) == (
            2, "Rows of posting “a” differ in kind, time or undo; give it one.",
        )  # fmt: skip

    def test_refuses_places_and_parts_that_cannot_be(self, row, site):
        road = make_site(kind=SiteKind.TRANSIT, name="On the road")
        assert refusal_of(row("received", 1, cents=5, site_id=road.pk))[1] == (
            "Nothing is received or sold at On the road; post it where it is going."
        )
        assert refusal_of(row("received", 1, cents=5, bin_id=make_bin(make_site()).pk))[1] == (
            "The bin is at another site; correct it."
        )
        cap = make_part(PartKind.CAP, number="CAP-1", counted=Counted.NOT)
        assert refusal_of(row("received", 1, cents=5, part=cap))[1] == (
            "CAP-1 is not counted, so nothing of it is posted; change how it is counted first."
        )

    def test_a_claimed_part_is_not_sold(self, row):
        rows = [
            row("taken_off", 1, key="t", condition=Condition.CLAIM),
            row("issued", -1, lot="t/1"),
        ]
        assert refusal_of(*rows) == (
            2, "Lot t/1 is to claim; check it and mark it checked before it is issued.",
        )  # fmt: skip

    def test_a_row_cannot_answer_its_own_posting(self, row):
        rows = [row("received", 2, key="in", cents=20)]
        assert refusal_of(*rows, row("revalued", 0, key="v", cents=1, lot="in/1", of="v/1")) == (
            2, "“v/1” is of this same posting; answer one of an earlier posting.",
        )  # fmt: skip

    def test_only_an_issue_of_the_same_part_and_site_comes_back(self, row):
        rows = [row("received", 2, cents=10, key="in"), row("scrapped", -1, key="bent")]
        assert refusal_of(*rows, row("returned", 1, of="bent/1")) == (
            3,
            "Only an issue can be returned; choose a line that was issued.",
        )
        other = make_part(kind="kit", number="KT-9")
        assert refusal_of(*rows, row("undone", 1, of="bent/1", undoes="bent", part=other)) == (
            4,
            "Movement “bent/1” is of another part or site; correct one.",
        )
