from datetime import date

import pytest
from django.core.exceptions import ValidationError

from inventory.catalog.models import Counted, MadeOf, PartKind
from inventory.ledger.actions import Occasion, put_together, take_apart, undo_posting
from inventory.ledger.audit import audit
from inventory.ledger.models import Condition, Lot, Posting, PostingKind, Shelf
from tests.make import make_part, make_stock

pytestmark = pytest.mark.django_db


def made_of(whole, *pieces):
    for piece, quantity in pieces:
        MadeOf.objects.create(whole=whole, piece=piece, quantity=quantity)


def value(part):
    return Shelf.objects.with_value().get(part=part).value_cents


class TestTakeApart:
    def test_the_cents_go_by_last_cost_and_odd_ones_by_largest_remainder(self, site):
        whole, body, stem = make_part(), make_part(PartKind.BODY), make_part(PartKind.STEM)
        made_of(whole, (body, 1), (stem, 1))
        make_stock(body, site, pieces=1, value_cents=2000)
        make_stock(stem, site, pieces=2, value_cents=2000)
        make_stock(whole, site, pieces=1, value_cents=1000, made_on=date(2025, 5, 1))
        take_apart(whole, site=site, by=None, key="apart")
        # 2000 to 1000: 666.67 and 333.33; the odd cent goes to the larger remainder.
        assert (value(body) - 2000, value(stem) - 2000) == (667, 333)
        loose = Lot.objects.get(shelf__part=stem, key__startswith="apart")
        assert (loose.condition, loose.made_on) == (Condition.CHECKED, date(2025, 5, 1))
        assert audit() == []

    @pytest.mark.parametrize(("listed", "shares"), [(1000, (1500, 500)), (None, (1000, 1000))])
    def test_without_a_cost_the_list_price_weighs_else_all_weigh_alike(self, site, listed, shares):
        whole = make_part()
        body = make_part(PartKind.BODY, list_price_cents=3000)
        stem = make_part(PartKind.STEM, list_price_cents=listed)
        made_of(whole, (body, 1), (stem, 1))
        make_stock(whole, site, pieces=2, value_cents=4000)
        take_apart(whole, site=site, by=None, key="apart")
        assert (value(body), value(stem)) == shares

    def test_what_is_not_counted_leaves_its_share_to_the_counted(self, site):
        kit = make_part(PartKind.KIT)
        seal = make_part(PartKind.SEAL)
        cap = make_part(PartKind.CAP, counted=Counted.NOT)
        made_of(kit, (seal, 1), (cap, 1))
        make_stock(kit, site, pieces=3, value_cents=301)
        take_apart(kit, site=site, pieces=3, by=None, key="apart")
        assert value(seal) == 301
        assert not Shelf.objects.filter(part=cap).exists()

    def test_what_is_used_at_once_goes_to_the_job_at_its_share(self, site):
        kit = make_part(PartKind.KIT)
        seal, nut = make_part(PartKind.SEAL), make_part(PartKind.OTHER)
        made_of(kit, (seal, 1), (nut, 1))
        make_stock(kit, site, pieces=1, value_cents=301)
        for _ in range(2):
            take_apart(
                kit, site=site, by=None, key="apart", used=[seal], occasion=Occasion(words="J-1")
            )
        issued = Posting.objects.get(kind=PostingKind.ISSUED)
        assert (issued.key, issued.occasion) == ("apart/used/1", "J-1")
        assert (-issued.movements.get().cents, value(nut)) == (151, 150)
        assert Shelf.objects.get(part=seal).on_hand == 0
        assert audit() == []

    def test_a_part_without_pieces_is_not_taken_apart(self, site):
        part = make_part(number="QX-1")
        make_stock(part, site)
        with pytest.raises(ValidationError) as refused:
            take_apart(part, site=site, by=None, key="apart")
        assert refused.value.messages == [
            "Nothing is listed as a counted piece of QX-1; list what it is made of first."
        ]

    def test_can_be_undone(self, site):
        whole, body = make_part(), make_part(PartKind.BODY)
        made_of(whole, (body, 1))
        make_stock(whole, site, pieces=1, value_cents=1000)
        undo_posting(take_apart(whole, site=site, by=None, key="apart"), by=None, key="u")
        assert (value(whole), value(body)) == (1000, 0)
        assert audit() == []


class TestPutTogether:
    def test_costs_what_its_pieces_cost(self, site):
        whole, body, stem = make_part(), make_part(PartKind.BODY), make_part(PartKind.STEM)
        made_of(whole, (body, 1), (stem, 2))
        make_stock(body, site, pieces=2, value_cents=2001, made_on=date(2025, 5, 1))
        make_stock(stem, site, pieces=4, value_cents=400, made_on=date(2024, 5, 1))
        put_together(whole, site=site, by=None, key="made")
        lot = Lot.objects.get(shelf__part=whole)
        assert (lot.cents_left, lot.made_on) == (1001 + 200, date(2024, 5, 1))
        assert audit() == []

    def test_refuses_when_one_piece_is_missing(self, site):
        whole = make_part()
        body, stem = make_part(PartKind.BODY), make_part(PartKind.STEM, number="ST-2")
        made_of(whole, (body, 1), (stem, 2))
        make_stock(body, site), make_stock(stem, site)
        with pytest.raises(ValidationError) as refused:
            put_together(whole, site=site, by=None, key="made")
        assert refused.value.messages == [
            "Only 1 of ST-2 on the shelf at Quay, not 2; "
            "put together 1 or fewer, or receive stock first."
        ]
        assert Shelf.objects.get(part=body).on_hand == 1
