from dataclasses import replace
from datetime import date, timedelta

import pytest

from inventory.catalog.models import MadeOf, PartKind
from inventory.ledger.actions import (
    count_stock,
    hold_parts,
    issue_stock,
    move_stock,
    put_together,
    receive_stock,
    record_postings,
    return_stock,
    take_apart,
    undo_posting,
)
from inventory.ledger.audit import audit
from inventory.ledger.models import (
    Ask,
    AskOutcome,
    Condition,
    Hold,
    Lot,
    Movement,
    Posting,
    PostingKind,
    Shelf,
)
from tests.inventory.ledger.actions.bulk_rows import LATER, NOON, lots_of, rows_of
from tests.inventory.ledger.test_races import THREADS, together
from tests.make import make_bin, make_part, make_site, make_stock
from tests.soak import soak

pytestmark = pytest.mark.django_db


@pytest.fixture
def row(kit, site):
    return rows_of(kit, site)


class TestRecordPostings:
    def test_is_the_same_as_posting_one_by_one(self, row, kit, site):
        other, far, elsewhere = make_part(kind="kit"), make_site(), make_site()
        made = date(2025, 1, 1)
        receive_stock(other, site=site, pieces=7, value_cents=1000, by=None, key="a")
        receive_stock(other, site=site, pieces=3, value_cents=100, by=None, key="b", made_on=made)
        issued = issue_stock(other, site=site, pieces=5, by=None, key="c")
        first, second = issued.movements.order_by("number")
        return_stock(second, pieces=1, by=None, key="d", condition=Condition.OPENED)
        move_stock(second.lot, pieces=2, by=None, key="e", to_site=elsewhere)
        undo = issue_stock(other, site=site, pieces=1, by=None, key="f")
        undo_posting(undo, by=None, key="g")
        count_stock(other, site=site, counted=9, by=None, key="h")
        record_postings(
            [
                row("received", 7, cents=1000, key="A"),
                row("received", 3, cents=100, key="B", made_on=made),
                row("issued", -5, key="C"),
                row("returned", 1, key="D", of="C/2", condition=Condition.OPENED),
                row("moved", -2, key="E", at=NOON + timedelta(hours=1)),
                row("moved", 2, key="E", at=NOON + timedelta(hours=1), site_id=far.pk),
                row("issued", -1, key="F", at=NOON + timedelta(hours=2)),
                row("undone", 1, key="G", of="F/1", undoes="F", at=NOON + timedelta(hours=3)),
                row("counted", 6, key="H", at=NOON + timedelta(hours=4)),
            ]
        )
        assert first.lot.made_on == made
        assert lots_of(kit, site) == lots_of(other, site)
        assert lots_of(kit, far) == lots_of(other, elsewhere)
        told = AskOutcome.objects.order_by("how", "pieces").values_list("how", "pieces")
        assert list(told.filter(ask__part=kit)) == list(told.filter(ask__part=other))
        assert audit() == []

    def test_what_is_made_costs_the_same_as_by_hand(self, row, site):
        made = {}
        for name in ("hand", "bulk"):
            whole, body, stem = make_part(), make_part(PartKind.BODY), make_part(PartKind.STEM)
            for piece in (body, stem):
                MadeOf.objects.create(whole=whole, piece=piece)
            make_stock(body, site, pieces=1, value_cents=2000)
            make_stock(whole, site, pieces=1, value_cents=1000)
            make_stock(stem, site, pieces=1, value_cents=1000)
            made[name] = whole, body, stem
        take_apart(made["hand"][0], site=site, by=None, key="apart", at=NOON)
        put_together(made["hand"][0], site=site, by=None, key="again", at=NOON)
        whole, body, stem = made["bulk"]
        record_postings(
            [
                row("taken_apart", -1, part=whole, key="x", at=NOON),
                row("taken_apart", 1, part=body, key="x", at=NOON, condition=Condition.CHECKED),
                row("taken_apart", 1, part=stem, key="x", at=NOON, condition=Condition.CHECKED),
            ]
        )
        record_postings(
            [
                row("put_together", 1, part=whole, key="y", at=NOON, condition=Condition.CHECKED),
                row("put_together", -1, part=body, key="y", at=NOON),
                row("put_together", -1, part=stem, key="y", at=NOON),
            ]
        )
        for by_hand, in_bulk in zip(made["hand"], made["bulk"], strict=True):
            assert [lot[:3] for lot in lots_of(in_bulk, site)] == [
                lot[:3] for lot in lots_of(by_hand, site)
            ]
        assert audit() == []

    def test_records_in_order_of_happening_whatever_the_order_of_rows(self, row):
        issued = row("issued", -3, at=NOON + timedelta(days=1), recorded_at=None)
        assert record_postings([issued, row("received", 3, cents=30, recorded_at=None)]) == 2
        assert list(Posting.objects.order_by("pk").values_list("kind", flat=True)) == [
            "received", "issued",
        ]  # fmt: skip

    def test_records_in_order_of_recording_where_that_is_told(self, row):
        late = row("issued", -3, at=NOON - timedelta(days=1), recorded_at=NOON + timedelta(days=1))
        assert record_postings([late, row("received", 3, cents=30)]) == 2
        assert audit() == []

    def test_one_that_waited_for_another_a_moment_stays_behind_it(self, row):
        received = row("received", 3, cents=30, at=NOON + timedelta(seconds=2))
        assert record_postings([received, row("issued", -3, at=NOON)]) == 2
        assert audit() == []

    def test_lines_stand_in_the_order_of_their_numbers(self, row, site):
        far = make_site()
        record_postings(
            [
                row("received", 3, cents=30, key="a", at=NOON),
                row("moved", 2, key="m", site_id=far.pk, number=2, at=NOON),
                row("moved", -2, key="m", number=1, at=NOON),
            ]
        )
        moved = Movement.objects.filter(posting__key="m").order_by("number")
        assert [(each.number, each.pieces) for each in moved] == [(1, -2), (2, 2)]

    def test_a_count_that_agreed_is_posted_without_a_movement(self, row):
        record_postings([row("counted", 0, part_id=0, site_id=0, key="c")])
        assert not Posting.objects.get(key="c").movements.exists()
        assert audit() == []

    def test_an_issue_uses_up_its_hold_and_its_undo_restores_it(self, row, kit, site):
        make_stock(kit, site, pieces=4)
        hold = hold_parts(kit, site=site, pieces=3, job_key="J-1", by=None, key="h")
        record_postings([row("issued", -2, key="i", hold="h")])
        hold.refresh_from_db()
        assert (hold.pieces, Shelf.objects.get().held) == (1, 1)
        record_postings([row("undone", 2, key="u", of="i/1", undoes="i")])
        hold.refresh_from_db()
        assert (hold.pieces, Shelf.objects.get().held) == (3, 3)
        assert audit() == []

    def test_a_hold_that_is_not_there_was_used_up_elsewhere(self, row):
        record_postings(
            [
                row("received", 4, cents=40),
                row("issued", -3, key="i", occasion="J-1", hold="old", hold_pieces=2),
            ]
        )
        hold = Hold.objects.get(key="old")
        assert (hold.pieces, hold.pieces_promised, hold.job_key) == (0, 2, "J-1")
        assert Posting.objects.get(hold=hold, hold_pieces=2).key == "i"
        assert audit() == []

    def test_what_came_off_a_car_is_to_claim_and_what_moves_stays_as_it_was(self, row, kit, site):
        shelf, far = make_bin(site), make_site()
        record_postings(
            [
                row("taken_off", 1, key="off", occasion="J-3"),
                row("received", 4, cents=40, key="in", condition="checked", bin_id=shelf.pk),
                row("moved", -3, key="m", lot="in/1", at=NOON + timedelta(hours=1)),
                row("moved", 2, key="m", site_id=far.pk, at=NOON + timedelta(hours=1)),
                row("moved", 1, key="m", at=NOON + timedelta(hours=1)),
            ]
        )
        lots = Lot.objects.order_by("pk").values_list("condition", "came_from", "bin", "from_lot")
        first = Lot.objects.get(key="in/1").pk
        assert list(lots) == [
            ("claim", "J-3", None, None),
            ("checked", "", shelf.pk, None),
            ("checked", "", None, first),
            ("checked", "", shelf.pk, first),
        ]

    def test_thirty_thousand_receipts_of_ten_cents_are_three_thousand(self, row, kit, site):
        receipt = row("received", 1, cents=10)
        assert record_postings(replace(receipt, key=f"k{n}") for n in range(30_000)) == 30_000
        assert Shelf.objects.with_value().get().value_cents == 300_000

    def test_seven_pieces_for_ten_leave_as_seven_values_that_sum_to_ten(self, row):
        record_postings([row("received", 7, cents=1000), *(row("issued", -1) for _ in range(7))])
        left = Movement.objects.filter(pieces=-1).order_by("pk").values_list("cents", flat=True)
        # By hand: 1000/7, 857/6, 714/5, 571/4, 428/3 and 285/2 to the nearest, then the rest.
        assert list(left) == [-143] * 6 + [-142]
        assert sum(left) == -1000

    def test_twice_changes_nothing(self, row):
        rows = [row("received", 3, cents=30), row("issued", -1)]
        assert record_postings(rows) == 2
        assert record_postings(rows) == 0
        assert Shelf.objects.get().on_hand == 2

    def test_an_issue_asks_for_itself_unless_its_outcome_is_listed(self, row):
        record_postings(
            [
                row("received", 3, cents=30),
                row("issued", -2, occasion="J-1"),
                row("issued", -1, answers_ask=True),
            ]
        )
        ask = Ask.objects.get()
        assert (ask.key, ask.pieces, ask.job_key) == ("r2:ask", 2, "J-1")

    def test_lines_of_one_issue_from_named_lots_are_one_ask(self, row):
        record_postings([row("received", 3, cents=30, key="a"), row("received", 3, cents=60)])
        record_postings(
            [
                row("issued", -1, key="i", lot="a/1", at=NOON),
                row("issued", -2, key="i", lot="r2/1", at=NOON),
            ]
        )
        assert Ask.objects.get().pieces == 3
        assert audit() == []

    def test_an_undone_return_can_be_returned_again(self, row):
        record_postings(
            [
                row("received", 3, cents=30),
                row("issued", -2, key="i"),
                row("returned", 2, of="i/1", key="b"),
                row("undone", -2, of="b/1", undoes="b"),
                row("returned", 1, of="i/1"),
            ]
        )
        assert Shelf.objects.get().on_hand == 2
        told = AskOutcome.objects.order_by("pk").values_list("how", "pieces")
        assert sum(pieces for how, pieces in told if how == "shelf") == 1
        assert audit() == []

    def test_a_move_keeps_each_lot_apart(self, row, kit):
        far = make_site()
        record_postings(
            [
                row("received", 2, cents=20, made_on=date(2024, 1, 1)),
                row("received", 2, cents=70, made_on=date(2025, 1, 1)),
                row("moved", -3, key="m", at=NOON + timedelta(hours=2)),
                row("moved", 3, key="m", at=NOON + timedelta(hours=2), site_id=far.pk),
            ]
        )
        assert [lot[1:] for lot in lots_of(kit, far)] == [
            (2, 20, date(2024, 1, 1)), (1, 35, date(2025, 1, 1)),
        ]  # fmt: skip

    def test_works_in_few_queries_however_many_rows(self, row, django_assert_max_num_queries):
        rows = [row("received", 9, cents=90)] + [row("issued", -1) for _ in range(8)]
        rows += [row("received", 1, cents=9) for _ in range(100)]
        with django_assert_max_num_queries(30):
            record_postings(rows)
        assert Movement.objects.count() == 109
        assert Posting.objects.filter(kind=PostingKind.ISSUED).count() == 8

    def test_a_lot_that_was_empty_and_came_back_is_issued_again(self, row):
        record_postings(
            [
                row("received", 1, cents=10), row("received", 1, cents=11),
                row("issued", -1, key="i"), row("issued", -1),
                row("returned", 1, of="i/1"), row("issued", -1),
            ]
        )  # fmt: skip
        assert Shelf.objects.get().on_hand == 0
        assert audit() == []

    def test_an_undone_issue_of_two_lots_withdraws_its_ask_once(self, row):
        record_postings(
            [
                row("received", 1, cents=10), row("received", 1, cents=11),
                row("issued", -2, key="i"),
                row("undone", 1, key="u", of="i/2", undoes="i", at=LATER),
                row("undone", 1, key="u", of="i/1", undoes="i", at=LATER),
            ]
        )  # fmt: skip
        told = AskOutcome.objects.order_by("key").values_list("key", "how", "pieces")
        assert [one[1:] for one in told if one[0].startswith("u")] == [
            ("shelf", -2), ("withdrawn", 2),
        ]  # fmt: skip
        assert audit() == []

    def test_a_row_may_bring_back_of_two_issues_under_one_key(self, row):
        record_postings(
            [
                row("received", 2, cents=20),
                row("issued", -1, key="a"), row("issued", -1, key="b"),
                row("returned", 1, key="r", of="a/1", at=LATER),
                row("returned", 1, key="r", of="b/1", at=LATER),
            ]
        )  # fmt: skip
        withdrawn = AskOutcome.objects.filter(how="withdrawn")
        assert list(withdrawn.values_list("pieces", flat=True)) == [1, 1]
        assert audit() == []

    def test_a_receipt_is_corrected_below_what_is_left_for_a_moment(self, row, kit, site):
        record_postings(
            [
                row("received", 2, key="in", cents=20),
                row("issued", -1, key="i", cents=-10, lot="in/1"),
                row("revalued", 0, key="v", cents=-15, lot="in/1", of="in/1", at=LATER),
                row("revalued", 0, key="v", cents=8, lot="in/1", of="i/1", at=LATER),
            ]
        )
        assert [lot[1:3] for lot in lots_of(kit, site)] == [(1, 3)]
        assert audit() == []

    def test_a_count_of_one_bin_takes_from_that_bin(self, row, site):
        first, second = make_bin(site), make_bin(site)
        record_postings(
            [
                row("received", 2, cents=10, key="a", bin_id=first.pk),
                row("received", 2, cents=12, key="b", bin_id=second.pk),
                row("counted", -1, bin_id=second.pk),
            ]
        )
        assert list(Lot.objects.order_by("pk").values_list("pieces_left", flat=True)) == [2, 1]


@pytest.mark.soak
@pytest.mark.django_db(transaction=True)
class TestRowsAndPeopleAtOnce:
    def test_nothing_is_lost(self, row, kit, site):
        """Seven people issue one by one while a workbook issues from the same shelf."""
        each, people = soak(10, 100), THREADS - 1
        make_stock(kit, site, pieces=2 * each * people, value_cents=7_777)
        rows = [row("issued", -1) for _ in range(each)]

        def work(number):
            if number == people:
                record_postings(rows)
                return
            for turn in range(each):
                issue_stock(kit, site=site, pieces=1, by=None, key=f"{number}-{turn}")

        assert together(work) == []
        assert Posting.objects.filter(kind=PostingKind.ISSUED).count() == each * THREADS
        assert Shelf.objects.get().on_hand == 2 * each * people - each * THREADS
        assert audit() == []
