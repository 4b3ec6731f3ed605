from datetime import UTC, date, datetime

import numpy as np
import pytest

from inventory.ledger.actions import log_ask, settle_ask
from inventory.ledger.models import How
from inventory.reorder.inputs.facts import Rows
from inventory.reorder.inputs.money import shares_not_there, worth_of
from inventory.shop.models import ShopSettings
from tests.make import make_part, make_site

pytestmark = pytest.mark.django_db

AS_OF = date(2026, 3, 4)
UNIT_CENTS = np.array([2_000.0])


def worth(price, **settings):
    part, site = make_part(list_price_cents=price), make_site()
    rows = Rows(part=np.array([part.pk]), site=np.array([site.pk]))
    shop = ShopSettings(pk=1, labour_price_cents=12_000, **settings)
    return worth_of(AS_OF, rows, UNIT_CENTS, shop)


def asked(how, pieces):
    at = datetime(2026, 3, 2, 12, tzinfo=UTC)
    ask = log_ask(
        make_part(), site=make_site(), pieces=pieces, by=None, key=f"a-{how}-{pieces}", at=at
    )
    settle_ask(ask, how=how, pieces=pieces)


class TestWorthOf:
    def test_margin_is_price_less_cost(self):
        found = worth(6_000)
        assert found.margin_cents.tolist() == [4_000]
        # Nobody was asked in vain yet: a quarter of the customers is taken to be lost.
        assert found.lost_cents.tolist() == [1_000]

    def test_tax_in_prices_is_nobodys_margin(self):
        # 7,200 with 20 % tax is 6,000 without; an hour of 120 is one of 100.
        found = worth(7_200, prices_include_tax=True, tax_per_mille=200)
        assert found.margin_cents.tolist() == pytest.approx([4_000])
        assert found.delay_cents == pytest.approx(1_000)

    def test_tax_on_top_of_prices_changes_nothing(self):
        assert worth(6_000, tax_per_mille=200).margin_cents.tolist() == [4_000]

    def test_a_part_sold_below_cost_loses_no_margin(self):
        assert worth(1_500).margin_cents.tolist() == [0]

    def test_without_a_price_a_margin_is_assumed(self):
        assert worth(None).margin_cents.tolist() == [800]

    def test_a_rush_costs_nothing_more_until_the_shop_says_so(self):
        assert worth(6_000).rush_cents.tolist() == [0]
        # A fifth of 2,000 more, for the half that is taken to be bought in.
        assert worth(6_000, rush_percent=20).rush_cents.tolist() == [200]


class TestSharesNotThere:
    def test_the_shops_own_asks_tell_in_time(self):
        assert shares_not_there() == (0.25, 0.5)
        asked(How.LOST, 30)
        asked(How.BOUGHT_IN, 10)
        asked(How.WAITED, 2)
        # With 2 of 8 lost and 4 of 8 bought in assumed beforehand: 32 and 14 of 50.
        assert shares_not_there() == (0.64, 0.28)

    def test_what_the_shelf_served_and_what_was_declined_tell_nothing(self):
        asked(How.DECLINED, 40)
        assert shares_not_there() == (0.25, 0.5)
