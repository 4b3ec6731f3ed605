"""Figures that are there to choose by, said no more exactly than they are known."""

from inventory.shop.amounts import money_text
from inventory.shop.models import ShopSettings

WORTH_SAYING = 0.05


def whole_cents(cents: float, shop: ShopSettings) -> int:
    """To the nearest whole unit of the shop's money."""
    unit: int = 10**shop.minor_digits
    return round(cents / unit) * unit


def whole_money(cents: float, shop: ShopSettings) -> str:
    return money_text(whole_cents(cents, shop), shop).partition(".")[0]


def odds(chance: float) -> str:
    """A chance as one says it across a counter.

    >>> odds(0.02), odds(0.31), odds(0.99)
    ('Less than 1 in 20', 'About 3 in 10', 'Almost certain')
    """
    if chance < WORTH_SAYING:
        return "Less than 1 in 20"
    tenths = round(chance * 10)
    return "Almost certain" if tenths >= 10 else f"About {max(tenths, 1)} in 10"
