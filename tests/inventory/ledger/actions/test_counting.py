import random
from datetime import timedelta

import pytest
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from inventory.ledger.actions import (
    close_count,
    count_line,
    issue_stock,
    settle_line,
    start_count,
    undo_posting,
)
from inventory.ledger.audit import audit
from inventory.ledger.models import CountLine, Lot, PostingKind, Shelf
from inventory.shop.models import ShopSettings
from inventory.shop.roles import Role
from tests.make import make_bin, make_part, make_stock, make_user
from tests.soak import soak

pytestmark = pytest.mark.django_db


@pytest.fixture
def bin(site):
    return make_bin(site, code="A3")


@pytest.fixture
def kit():
    return make_part("kit", number="KT-4")


@pytest.fixture
def technician():
    return make_user()


def start(site, key="c1", **facts):
    return start_count(site, title="Bins", by=None, key=key, **facts)


def count(sheet, part, counted, by, key="k1", **facts):
    return count_line(sheet, part, counted=counted, by=by, key=key, **facts)


def refusal(action, *args, **facts):
    with pytest.raises(ValidationError) as refused:
        action(*args, **facts)
    return refused.value.messages


def line_of(sheet):
    return CountLine.objects.for_count_sheet().get(sheet=sheet)


class TestStartCount:
    def test_lists_what_the_ledger_knows_in_the_bins(self, site, bin, kit):
        other = make_bin(site)
        make_stock(kit, site, pieces=2, bin=bin)
        make_stock(kit, site, pieces=2, bin=bin)
        make_stock(kit, site, pieces=1, bin=other)
        make_stock(make_part("kit"), site, pieces=1)
        sheet = start(site, bins=[bin, other])
        assert {(line.part, line.bin) for line in sheet.lines.all()} == {(kit, bin), (kit, other)}
        assert start(site, bins=[bin]) == sheet

    def test_one_part_in_all_bins_together(self, site, kit):
        assert start(site, part=kit).lines.get().bin is None

    def test_a_bin_that_is_being_counted_is_refused(self, site, bin, kit):
        make_stock(kit, site, bin=bin)
        start(site, bins=[bin])
        assert refusal(start, site, key="c2", bins=[bin]) == [
            "A3 is being counted already, on the sheet “Bins”; close that one first."
        ]

    def test_nothing_to_count_is_refused(self, site):
        assert refusal(start, site) == ["Nothing to count was chosen; choose bins, or a part."]


class TestCountLine:
    def test_what_agrees_is_posted_at_once_and_moves_nothing(self, site, bin, kit, technician):
        make_stock(kit, site, pieces=4, bin=bin)
        sheet = start(site, bins=[bin])
        line = count(sheet, kit, 4, technician, bin=bin)
        assert line.posting is not None
        assert (line.posting.kind, line.posting.occasion) == (PostingKind.COUNTED, "Count Bins")
        assert not line.posting.movements.exists()
        assert line_of(sheet).is_done

    def test_what_differs_waits(self, site, bin, kit, technician):
        make_stock(kit, site, pieces=4, bin=bin)
        sheet = start(site, bins=[bin])
        line = count(sheet, kit, 3, technician, bin=bin)
        assert (line.difference, line.posting) == (-1, None)
        assert Shelf.objects.get().on_hand == 4
        assert count(sheet, kit, 4, technician, key="k2", bin=bin).posting is not None

    def test_sent_twice_it_is_compared_once(self, site, bin, kit, technician):
        make_stock(kit, site, pieces=4, bin=bin)
        sheet = start(site, bins=[bin])
        first = count(sheet, kit, 4, technician, bin=bin)
        issue_stock(kit, site=site, pieces=1, by=None, key="i")
        again = count(sheet, kit, 4, technician, bin=bin)
        assert (again.seen_at, again.difference) == (first.seen_at, 0)

    def test_a_part_found_where_nobody_looked_for_it_joins_the_sheet(
        self, site, bin, kit, technician
    ):
        sheet = start(site, bins=[bin])
        assert count(sheet, kit, 1, technician, bin=bin).difference == 1
        assert sheet.lines.count() == 1

    def test_a_closed_sheet_takes_no_more(self, site, bin, kit, technician):
        sheet = close_count(start(site, bins=[bin]))
        assert refusal(count, sheet, kit, 1, technician, bin=bin) == [
            "The sheet “Bins” is closed; start another count."
        ]


class TestSettleLine:
    def waiting(self, site, bin, kit, by, counted=3):
        make_stock(kit, site, pieces=4, value_cents=4000, bin=bin)
        sheet = start(site, bins=[bin])
        return count(sheet, kit, counted, by, bin=bin)

    def test_corrects_to_what_lay_there_when_it_was_counted(self, site, bin, kit, technician):
        line = self.waiting(site, bin, kit, technician)
        issue_stock(kit, site=site, pieces=2, by=None, key="i")
        for _ in range(2):
            settle_line(line, by=technician)
        assert Shelf.objects.get().on_hand == 1
        assert line_of(line.sheet).is_done
        assert audit() == []

    def test_what_happened_before_and_was_written_down_after_reopens_the_line(
        self, site, bin, kit, technician
    ):
        line = self.waiting(site, bin, kit, technician)
        settle_line(line, by=technician)
        assert not line_of(line.sheet).late
        before = line.seen_at - timedelta(minutes=1)
        issue_stock(kit, site=site, pieces=1, by=None, key="late", at=before)
        assert line_of(line.sheet).is_reopened
        count(line.sheet, kit, 3, technician, key="k2", bin=bin)
        assert line_of(line.sheet).difference == 1
        settle_line(line, by=technician)
        assert line_of(line.sheet).is_done
        assert Lot.objects.left().filter(bin=bin).count() == 2
        assert audit() == []

    def test_what_happened_after_it_or_in_another_bin_does_not(self, site, bin, kit, technician):
        line = self.waiting(site, bin, kit, technician, counted=4)
        make_stock(kit, site, bin=make_bin(site), at=timezone.now() - timedelta(days=1))
        issue_stock(kit, site=site, pieces=1, by=None, key="i")
        assert line_of(line.sheet).is_done

    def test_before_it_is_settled_a_late_posting_asks_for_a_new_count(
        self, site, bin, kit, technician
    ):
        line = self.waiting(site, bin, kit, technician)
        before = line.seen_at - timedelta(minutes=1)
        issue_stock(kit, site=site, pieces=1, by=None, key="late", at=before)
        assert refusal(settle_line, line, by=technician) == [
            "KT-4 in A3 is to be counted again first; count it."
        ]

    def test_an_undone_correction_reopens_the_line(self, site, bin, kit, technician):
        line = settle_line(self.waiting(site, bin, kit, technician), by=technician)
        assert line.posting is not None
        undo_posting(line.posting, by=technician, key="u")
        assert line_of(line.sheet).is_reopened

    @pytest.mark.parametrize(("limit", "confirmed"), [(1000, True), (999, False)])
    def test_above_the_limit_an_owner_confirms(self, site, bin, kit, technician, limit, confirmed):
        ShopSettings(pk=1, count_confirm_cents=limit).save()
        line = self.waiting(site, bin, kit, technician)
        if confirmed:
            settle_line(line, by=technician)
        else:
            assert refusal(settle_line, line, by=technician) == [
                "KT-4 in A3 differs by more than a count may correct alone; "
                "count again, or ask an owner to confirm it."
            ]
            assert Shelf.objects.get().on_hand == 4
            settle_line(line, by=make_user(Role.OWNER))
        assert Shelf.objects.get().on_hand == 3

    def test_found_pieces_of_a_part_never_bought_need_their_cost(self, site, bin, kit, technician):
        line = count(start(site, bins=[bin]), kit, 2, technician, bin=bin)
        assert refusal(settle_line, line, by=technician) == [
            "KT-4 was never bought, so its cost is not known; write what a piece costs."
        ]
        settle_line(line, by=technician, unit_cents=500)
        assert Lot.objects.get().cents_left == 1000


class Bay:
    """A bin and what truly lies in it, while people take, forget to write down, lose and count."""

    def __init__(self, site, bin, kit, by, rng):
        self.site, self.bin, self.kit, self.by, self.rng = site, bin, kit, by, rng
        make_stock(kit, site, pieces=20, bin=bin)
        self.sheet = start(site, bins=[bin])
        self.there, self.unwritten, self.lost_since, self.number = 20, [], False, 0

    def act(self):
        self.number += 1
        steps = [self.issue, self.issue, self.take, self.write, self.lose, self.count, self.settle]
        self.rng.choice(steps)()

    def issue(self):
        if self.there > len(self.unwritten):
            self.post(timezone.now())
            self.there -= 1

    def post(self, at):
        key = f"{self.sheet.key}-i{self.number}-{len(self.unwritten)}"
        issue_stock(self.kit, site=self.site, pieces=1, by=None, key=key, at=at)

    def take(self):
        """Taken now, written down later."""
        if self.there:
            self.there -= 1
            self.unwritten.append(timezone.now())

    def write(self):
        if self.unwritten:
            self.post(self.unwritten.pop(self.rng.randrange(len(self.unwritten))))

    def lose(self):
        """Gone, and nobody will ever write it down."""
        if self.there > 10:
            self.there, self.lost_since = self.there - 1, True

    def count(self):
        count(self.sheet, self.kit, self.there, self.by, key=f"k{self.number}", bin=self.bin)
        self.lost_since = False

    def settle(self):
        line = line_of(self.sheet)
        if line.differs:
            settle_line(line, by=self.by)


@pytest.mark.soak
class TestCountWhileWorking:
    def test_a_line_that_is_done_is_true(self, site):
        owner = make_user(Role.OWNER)
        done = reopened = 0
        for seed in range(soak(25, 500)):
            with transaction.atomic():
                kit, bin = make_part("kit"), make_bin(site)
                bay = Bay(site, bin, kit, owner, random.Random(seed))
                for _ in range(15):
                    bay.act()
                while bay.unwritten:
                    bay.write()
                line = line_of(bay.sheet)
                reopened += line.is_reopened
                if line.is_done and not bay.lost_since:
                    done += 1
                    assert Shelf.objects.get(part=kit).on_hand == bay.there, seed
                assert audit() == []
                transaction.set_rollback(True)
        assert done
        assert reopened


class TestCloseCount:
    def test_what_differs_is_settled_first(self, site, bin, kit, technician):
        make_stock(kit, site, pieces=4, bin=bin)
        sheet = start(site, bins=[bin])
        line = count(sheet, kit, 3, technician, bin=bin)
        assert refusal(close_count, sheet) == [
            "KT-4 in A3 is not settled; count it again or correct the shelf to it first."
        ]
        settle_line(line, by=technician)
        assert close_count(sheet).closed_at is not None

    def test_what_was_not_counted_stays_as_it_is(self, site, bin, kit):
        make_stock(kit, site, pieces=4, bin=bin)
        assert close_count(start(site, bins=[bin])).closed_at is not None
        assert Shelf.objects.get().on_hand == 4
