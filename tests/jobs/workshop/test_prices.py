from datetime import date

import pytest

from inventory.catalog.models import SellingPrice
from jobs.workshop.prices import for_minutes, less_discount, selling_prices
from tests.make import make_account, make_part

pytestmark = pytest.mark.django_db
DAY = date(2026, 2, 3)


class TestSellingPrices:
    def test_the_shops_own_latest_price_comes_before_the_list(self, django_assert_num_queries):
        listed = make_part(list_price_cents=5490)
        priced = make_part(list_price_cents=5490)
        for valid_from, cents in ((date(2025, 1, 1), 6000), (date(2026, 2, 3), 6200)):
            SellingPrice.objects.create(part=priced, valid_from=valid_from, price_cents=cents)
        SellingPrice.objects.create(part=priced, valid_from=date(2026, 2, 4), price_cents=9900)
        unpriced = make_part()
        with django_assert_num_queries(1):
            prices = selling_prices([listed, priced, unpriced], DAY)
        assert prices == {listed.pk: 5490, priced.pk: 6200}


class TestLessDiscount:
    @pytest.mark.parametrize(
        ("cents", "per_mille", "left"),
        [(10_000, 50, 9_500), (999, 25, 974), (1_000, 1000, 0), (10, 50, 10)],
    )
    def test_is_taken_off_to_the_nearest_cent(self, cents, per_mille, left):
        # 999 × 0.975 = 974.025; 10 × 0.95 = 9.5, half a cent goes up.
        assert less_discount(cents, make_account(discount_per_mille=per_mille)) == left

    def test_nobody_without_an_account_gets_one(self):
        assert less_discount(999, None) == 999


class TestForMinutes:
    def test_an_hour_is_sixty_minutes(self):
        assert [for_minutes(12_000, minutes) for minutes in (60, 20, 7)] == [12_000, 4_000, 1_400]
