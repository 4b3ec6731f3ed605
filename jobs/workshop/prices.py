"""What a part or work costs the customer on a day: the shop's own price, else the list's.

An account's discount comes off parts and work alike. What either costs the shop is not known here.
"""

from collections.abc import Iterable
from datetime import date

from inventory.catalog.models import Part, SellingPrice
from jobs.workshop.models import Account

MINUTES_AN_HOUR = 60


def selling_prices(parts: Iterable[Part], day: date) -> dict[int, int]:
    """Cents a piece by part, in one query; a part without any price is left out."""
    listed = {part.pk: part for part in parts}
    prices = {
        pk: part.list_price_cents
        for pk, part in listed.items()
        if part.list_price_cents is not None
    }
    own = SellingPrice.objects.filter(part__in=listed, valid_from__lte=day)
    prices.update(own.order_by("part", "valid_from").values_list("part", "price_cents"))
    return prices


def less_discount(cents: int, account: Account | None) -> int:
    """After the account's discount, to the nearest cent, half a cent up."""
    return less_per_mille(cents, account.discount_per_mille if account else 0)


def less_per_mille(cents: int, discount_per_mille: int) -> int:
    return (cents * (1000 - discount_per_mille) + 500) // 1000


def for_minutes(cents_an_hour: int, minutes: int) -> int:
    """To the nearest cent, half a cent up."""
    return (cents_an_hour * minutes + MINUTES_AN_HOUR // 2) // MINUTES_AN_HOUR
