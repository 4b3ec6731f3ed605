from datetime import timedelta

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone

from inventory.ledger.actions import (
    count_stock,
    hold_parts,
    issue_stock,
    return_to_supplier,
    scrap_stock,
    take_off_car,
)
from inventory.ledger.audit import audit
from inventory.ledger.entry import Occasion
from inventory.ledger.models import Lot, PostingKind, Shelf
from tests.make import make_bin, make_site, make_stock

pytestmark = pytest.mark.django_db


def count(part, site, counted, key="c1", **facts):
    return count_stock(part, site=site, counted=counted, by=None, key=key, **facts)


class TestCountStock:
    def test_what_is_missing_leaves_oldest_first(self, kit, site):
        make_stock(kit, site, pieces=4, value_cents=400)
        posting = count(kit, site, 3)
        movement = posting.movements.get()
        assert (movement.pieces, movement.cents, posting.kind) == (-1, -100, PostingKind.COUNTED)

    def test_surplus_is_worth_what_was_paid_here_last_else_anywhere(self, kit, site):
        far = make_site()
        make_stock(kit, far, pieces=3, value_cents=1000)
        count(kit, site, 3)
        # 1000 for three: the three found are worth 1000 too, not 3 × 333.
        assert Lot.objects.get(came_from="Counted").cents_left == 1000
        make_stock(kit, site, pieces=1, value_cents=500)
        count(kit, site, 6, key="c2")
        assert Lot.objects.get(key="c2/1").cents_left == 1000

    def test_surplus_of_a_part_never_bought_needs_its_cost(self, kit, site):
        with pytest.raises(ValidationError) as refused:
            count(kit, site, 2)
        assert refused.value.messages == [
            "KT-4 was never bought, so its cost is not known; write what a piece costs."
        ]
        count(kit, site, 2, unit_cents=250)
        assert Lot.objects.get().cents_left == 500

    def test_a_failed_part_that_came_off_a_vehicle_sets_no_price(self, kit, site):
        take_off_car(kit, site=site, by=None, key="t", occasion=Occasion(words="J-1"))
        with pytest.raises(ValidationError, match="was never bought"):
            count(kit, site, 1)

    def test_a_count_that_agrees_is_remembered_and_moves_nothing(self, kit, site):
        make_stock(kit, site, pieces=4)
        posting = count(kit, site, 4)
        assert not posting.movements.exists()
        assert count(kit, site, 9) == posting
        assert audit() == []

    def test_only_the_bin_that_was_counted_is_compared(self, kit, site):
        bin = make_bin(site)
        make_stock(kit, site, pieces=4), make_stock(kit, site, pieces=2, bin=bin)
        count(kit, site, 1, bin=bin)
        assert Shelf.objects.get().on_hand == 5
        assert Lot.objects.get(bin=bin).pieces_left == 1

    def test_is_compared_with_what_lay_there_when_it_was_seen(self, kit, site):
        then = timezone.now()
        make_stock(kit, site, pieces=4, at=then - timedelta(hours=2))
        issue_stock(kit, site=site, pieces=1, by=None, key="i", at=then)
        # Seen an hour before the issue: four were right then, so three are right now.
        posting = count(kit, site, 4, seen_at=then - timedelta(hours=1))
        assert not posting.movements.exists()

    def test_what_is_promised_is_not_counted_away(self, kit, site):
        make_stock(kit, site, pieces=2)
        hold_parts(kit, site=site, pieces=2, job_key="J-1", by=None, key="h1")
        with pytest.raises(ValidationError) as refused:
            count(kit, site, 1)
        assert refused.value.messages == [
            "All 2 of KT-4 at Quay are promised to jobs; release a hold or receive stock first."
        ]

    def test_refuses_fewer_than_none(self, kit, site):
        with pytest.raises(ValidationError) as refused:
            count(kit, site, -1)
        assert refused.value.messages == ["-1 pieces cannot be counted; write 0 or more."]


class TestScrapStock:
    def test_leaves_with_its_cents_and_its_reason(self, kit, site):
        make_stock(kit, site, pieces=4, value_cents=400)
        posting = scrap_stock(kit, site=site, pieces=1, by=None, key="s", words="seal perished")
        assert (posting.kind, posting.words) == (PostingKind.SCRAPPED, "seal perished")
        assert Lot.objects.get().cents_left == 300

    def test_needs_a_reason(self, kit, site):
        with pytest.raises(ValidationError) as refused:
            scrap_stock(kit, site=site, pieces=1, by=None, key="s", words="")
        assert refused.value.messages == ["Say why it is scrapped."]

    def test_says_what_can_be_scrapped(self, kit, site):
        make_stock(kit, site, pieces=1)
        with pytest.raises(ValidationError) as refused:
            scrap_stock(kit, site=site, pieces=2, by=None, key="s", words="bent")
        assert refused.value.messages == [
            "Only 1 of KT-4 on the shelf at Quay, not 2; scrap 1 or fewer, or receive stock first."
        ]


class TestReturnToSupplier:
    def test_a_claimed_part_leaves_at_the_nothing_it_came_in_at(self, kit, site):
        take_off_car(kit, site=site, by=None, key="t", occasion=Occasion(words="J-1"))
        posting = return_to_supplier(Lot.objects.get(), pieces=1, by=None, key="back")
        assert posting.movements.get().cents == 0
        assert Shelf.objects.get().on_hand == 0
        assert audit() == []
