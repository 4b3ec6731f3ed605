"""Money, pressures, torques and days in the words of the shop, as its settings ask."""

from datetime import date
from decimal import Decimal

from django.utils.dateformat import format as format_date

from inventory.shop.models import PressureUnit, ShopSettings, TorqueUnit
from inventory.shop.units import pressure_in, torque_in, whole_kpa

SIGNS = {"USD": "$", "EUR": "€", "GBP": "£"}
MINUS = "−"


def amount_text(cents: int, shop: ShopSettings) -> str:
    """The figure alone, for columns that name the currency in their head."""
    value = Decimal(abs(cents)).scaleb(-shop.minor_digits)
    return f"{MINUS if cents < 0 else ''}{value:,.{shop.minor_digits}f}"


def money_text(cents: int, shop: ShopSettings) -> str:
    figure = amount_text(abs(cents), shop)
    sign = SIGNS.get(shop.currency)
    money = f"{sign}{figure}" if sign else f"{figure} {shop.currency}"
    return f"{MINUS}{money}" if cents < 0 else money


def pressure_text(kpa: int, shop: ShopSettings) -> str:
    """In the unit of the gauge; as the whole figure it was set from, where there is one.

    70 psi is kept as 483 kPa, which is nearer to 70.1 psi: it is still said as 70.
    """
    unit = PressureUnit(shop.pressure_unit)
    shown = pressure_in(unit.value, kpa)
    whole = shown.to_integral_value()
    said = whole if whole_kpa(whole, unit.value) == kpa else shown
    return f"{_plain(said)} {unit.label}"


def torque_text(cnm: int, shop: ShopSettings) -> str:
    unit = TorqueUnit(shop.torque_unit)
    return f"{_plain(torque_in(unit.value, cnm))} {unit.label}"


def day_text(day: date, shop: ShopSettings) -> str:
    return format_date(day, shop.date_order)


def month_text(month: date) -> str:
    return format_date(month, "F Y")


def percent_text(share: float, places: int = 0) -> str:
    """A share as this site writes it everywhere; never 100 for almost all, nor 0 for a few.

    >>> percent_text(0.964), percent_text(0.9996), percent_text(1.0), percent_text(-0.4)
    ('96%', '99.9%', '100%', '−40%')
    >>> percent_text(0.007), percent_text(0.0)
    ('0.7%', '0%')
    """
    return f"{percent_figure(share, places)}%"


def percent_figure(share: float, places: int = 0) -> str:
    """The figure alone, for a column whose head says percent."""
    almost_all = 0.99 < share < 1
    shown = min(100 * share, 99.9) if almost_all else 100 * share
    close = almost_all or 0 < share < 0.01
    figure = f"{shown:,.{max(places, int(close))}f}".replace("-", MINUS)
    return figure.removeprefix(MINUS) if not figure.strip(f"{MINUS}0.") else figure


def count_text(count: int, noun: str, nouns: str = "") -> str:
    """
    >>> count_text(1, "ask"), count_text(1200, "shelf", "shelves")
    ('1 ask', '1,200 shelves')
    """
    return f"{count:,} {noun if count == 1 else nouns or noun + 's'}"


def _plain(value: Decimal) -> str:
    """Without zeros that only fill up: 35 psi, not 35.0 psi."""
    return f"{value:f}".rstrip("0").rstrip(".") if "." in f"{value:f}" else f"{value:f}"
