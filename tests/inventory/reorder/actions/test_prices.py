from datetime import date

import pytest
from django.core.exceptions import ValidationError

from inventory.reorder.actions.prices import NewPrice, accept_prices, price_changes
from inventory.reorder.models import Offer
from inventory.shop.models import Change
from tests.make import make_offer, make_part, make_supplier

pytestmark = pytest.mark.django_db

JANUARY, APRIL = date(2026, 1, 1), date(2026, 4, 1)


@pytest.fixture
def part():
    return make_part(number="QX-4410")


@pytest.fixture
def supplier():
    return make_supplier()


class TestPriceChanges:
    def test_tells_the_rise(self, supplier, part):
        make_offer(supplier, part, pack_price_cents=2_000, valid_from=JANUARY)
        [change] = price_changes(
            supplier, [NewPrice(part=part, pack_price_cents=2_137)], valid_from=APRIL
        )
        assert change.rise_share == pytest.approx(137 / 2_000)

    def test_a_piece_costs_more_by_a_share_of_what_it_cost(self, supplier, part):
        make_offer(supplier, part, pack=4, pack_price_cents=2_000, valid_from=JANUARY)
        new = NewPrice(part=part, pack=5, pack_price_cents=3_000)
        [change] = price_changes(supplier, [new], valid_from=APRIL)
        # 6.00 against 5.00 a piece, by hand.
        assert change.rise_share == pytest.approx(0.2)
        assert change.fall_share == pytest.approx(-0.2)

    def test_says_that_breaks_end_with_their_price(self, supplier, part):
        make_offer(supplier, part, pack_price_cents=2_000, breaks={10: 1_800}, valid_from=JANUARY)
        for cents, ends in ((2_137, True), (2_000, False)):
            new = NewPrice(part=part, pack_price_cents=cents, minimum_packs=2)
            [change] = price_changes(supplier, [new], valid_from=APRIL)
            assert change.breaks_end is ends

    def test_an_offer_that_has_ended_is_what_was_agreed_last(self, supplier, part):
        make_offer(supplier, part, pack=4, valid_from=JANUARY, valid_to=date(2026, 3, 31))
        new = NewPrice(part=part, pack_price_cents=9_000)
        [offer] = accept_prices(supplier, [new], valid_from=APRIL, by=None)
        assert (offer.pack, offer.valid_to) == (4, None)

    def test_the_same_price_is_no_change(self, supplier, part):
        make_offer(supplier, part, pack_price_cents=2_000, valid_from=JANUARY)
        same = NewPrice(part=part, pack_price_cents=2_000)
        assert price_changes(supplier, [same], valid_from=APRIL) == []


class TestAcceptPrices:
    def test_the_old_offer_ends_the_day_before(self, supplier, part):
        old = make_offer(
            supplier, part, pack_price_cents=2_000, pack=5, warranty_months=24, valid_from=JANUARY
        )
        new = NewPrice(part=part, pack_price_cents=2_137)
        [offer] = accept_prices(supplier, [new], valid_from=APRIL, by=None)
        old.refresh_from_db()
        assert old.valid_to == date(2026, 3, 31)
        assert (offer.pack_price_cents, offer.pack, offer.warranty_months) == (2_137, 5, 24)

    def test_again_changes_nothing(self, supplier, part):
        make_offer(supplier, part, valid_from=JANUARY)
        new = NewPrice(part=part, pack_price_cents=2_137, breaks=((10, 1_988),))
        accept_prices(supplier, [new], valid_from=APRIL, by=None)
        assert accept_prices(supplier, [new], valid_from=APRIL, by=None) == []
        assert (Offer.objects.count(), Change.objects.count()) == (2, 1)

    def test_corrects_an_offer_of_the_same_day(self, supplier, part):
        make_offer(supplier, part, pack_price_cents=2_000, valid_from=APRIL)
        new = NewPrice(part=part, pack_price_cents=2_137)
        accept_prices(supplier, [new], valid_from=APRIL, by=None)
        assert Offer.objects.get().pack_price_cents == 2_137
        assert Change.objects.get().before == {"pack_price_cents": 2_000}

    def test_breaks_of_the_old_price_do_not_outlive_it(self, supplier, part):
        make_offer(supplier, part, pack_price_cents=2_000, breaks={10: 1_900}, valid_from=JANUARY)
        new = NewPrice(part=part, pack_price_cents=2_137)
        [offer] = accept_prices(supplier, [new], valid_from=APRIL, by=None)
        assert offer.price_of(10) == 2_137

    def test_refuses_a_part_listed_twice(self, supplier, part):
        twice = [NewPrice(part=part, pack_price_cents=cents) for cents in (2_137, 2_138)]
        with pytest.raises(ValidationError) as refused:
            accept_prices(supplier, twice, valid_from=APRIL, by=None)
        assert refused.value.messages == ["The list gives QX-4410 twice; keep the line that holds."]
        assert not Offer.objects.exists()
