"""What an ask that finds the shelf empty costs the shop, and what keeping stock costs."""

from datetime import date

import numpy as np
from django.db.models import Q, Sum

from inventory.catalog.models import Part
from inventory.catalog.prices import customer_prices
from inventory.ledger.models import AskOutcome, How
from inventory.reorder.inputs.facts import Floats, Rows, Worth
from inventory.shop.models import ShopSettings

# Assumptions, until the shop's own asks tell: a quarter of the customers whose part is not there
# is lost; finding a part elsewhere and booking again takes six minutes of labour, and so does a
# year of counting what lies on the shelf.
LOST, NOT_THERE = 2.0, 8.0
DELAY_HOURS = 0.1
COUNTING_HOURS_A_YEAR = 0.1
MARGIN_WITHOUT_A_PRICE = 0.4


def worth_of(as_of: date, rows: Rows, unit_cents: Floats, shop: ShopSettings) -> Worth:
    """`unit_cents`: (n,) what a piece of each row's part costs."""
    parts = Part.objects.in_bulk(np.unique(rows.part).tolist())
    price_of = customer_prices(parts.values(), on=as_of)
    known = [price_of[pk] for pk in rows.part.tolist()]
    price = np.array([np.nan if cents is None else cents for cents in known])
    margin = np.where(np.isnan(price), MARGIN_WITHOUT_A_PRICE * unit_cents, price - unit_cents)
    return Worth(
        lost_cents=np.maximum(margin, 0) * share_lost(),
        delay_cents=DELAY_HOURS * shop.labour_price_cents,
        line_cents=COUNTING_HOURS_A_YEAR * shop.labour_price_cents,
        holding_rate=shop.holding_percent_per_year / 100,
    )


def share_lost() -> float:
    """Of the pieces that were not there, the share whose customer went elsewhere."""
    elsewhere = [How.LOST, How.WAITED, How.BOUGHT_IN, How.MOVED_HERE]
    found = AskOutcome.objects.filter(how__in=elsewhere).aggregate(
        lost=Sum("pieces", filter=Q(how=How.LOST), default=0), all=Sum("pieces", default=0)
    )
    return float((found["lost"] + LOST) / (found["all"] + NOT_THERE))
