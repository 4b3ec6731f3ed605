"""What an ask that finds the shelf empty costs the shop, and what keeping stock costs."""

from datetime import date

import numpy as np
from django.db.models import Q, Sum

from inventory.catalog.models import Part
from inventory.catalog.prices import customer_prices
from inventory.ledger.models import AskOutcome, How
from inventory.reorder.inputs.facts import Floats, Rows, Worth
from inventory.shop.models import ShopSettings

# Assumptions, until the shop's own asks tell: of the customers whose part is not there a quarter is
# lost, and for half of them it is bought in; finding a part elsewhere and booking again takes six
# minutes of labour, and so does a year of counting what lies on the shelf.
LOST, BOUGHT_IN, NOT_THERE = 2.0, 4.0, 8.0
DELAY_HOURS = 0.1
COUNTING_HOURS_A_YEAR = 0.1
MARGIN_WITHOUT_A_PRICE = 0.4


def worth_of(as_of: date, rows: Rows, unit_cents: Floats, shop: ShopSettings) -> Worth:
    """`unit_cents`: (n,) what a piece of each row's part costs."""
    parts = Part.objects.filter(pk__in=np.unique(rows.part).tolist())
    price_of = customer_prices(parts, on=as_of)
    known = [price_of[pk] for pk in rows.part.tolist()]
    without_tax = 1000 / (1000 + shop.tax_in_prices_per_mille)
    price = np.array([np.nan if cents is None else cents * without_tax for cents in known])
    earned = np.where(np.isnan(price), MARGIN_WITHOUT_A_PRICE * unit_cents, price - unit_cents)
    margin = np.maximum(earned, 0)
    lost, bought_in = shares_not_there()
    labour_cents = shop.labour_price_cents * without_tax
    return Worth(
        margin_cents=margin,
        lost_cents=margin * lost,
        rush_cents=unit_cents * (shop.rush_percent / 100 * bought_in),
        delay_cents=DELAY_HOURS * labour_cents,
        line_cents=COUNTING_HOURS_A_YEAR * labour_cents,
        holding_rate=shop.holding_percent_per_year / 100,
    )


def shares_not_there() -> tuple[float, float]:
    """Of the pieces that were not there: whose customer went elsewhere, and what was bought in."""
    elsewhere = [How.LOST, How.WAITED, How.BOUGHT_IN, How.MOVED_HERE]
    found = AskOutcome.objects.filter(how__in=elsewhere).aggregate(
        lost=Sum("pieces", filter=Q(how=How.LOST), default=0),
        bought=Sum("pieces", filter=Q(how=How.BOUGHT_IN), default=0),
        all=Sum("pieces", default=0),
    )
    seen = found["all"] + NOT_THERE
    return float((found["lost"] + LOST) / seen), float((found["bought"] + BOUGHT_IN) / seen)
