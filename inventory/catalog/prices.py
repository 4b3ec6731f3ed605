"""What a customer pays for a part: the shop's own dated price, else the list price."""

from collections.abc import Iterable
from datetime import date

from inventory.catalog.models import Part, SellingPrice


def customer_prices(parts: Iterable[Part], *, on: date) -> dict[int, int | None]:
    """Minor units by part; None where no price is known."""
    prices = {part.pk: part.list_price_cents for part in parts}
    own = SellingPrice.objects.filter(part__in=prices, valid_from__lte=on).order_by("valid_from")
    return prices | dict(own.values_list("part", "price_cents"))
