"""Tags that write amounts as the shop reads them; each takes the shop from the page's context."""

from collections.abc import Callable
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from django import template
from django.template import Context

from inventory.shop import amounts
from inventory.shop.models import ShopSettings

register = template.Library()


def _say(context: Context, value: Any, words: Callable[[Any, ShopSettings], str]) -> str:
    return "" if value in (None, "") else words(value, context["shop"])


@register.simple_tag(takes_context=True)
def money(context: Context, cents: int | None) -> str:
    return _say(context, cents, amounts.money_text)


@register.simple_tag(takes_context=True)
def amount(context: Context, cents: int | None) -> str:
    """For a column whose head names the currency."""
    return _say(context, cents, amounts.amount_text)


@register.simple_tag(takes_context=True)
def pressure(context: Context, kpa: int | None) -> str:
    return _say(context, kpa, amounts.pressure_text)


@register.simple_tag(takes_context=True)
def torque(context: Context, cnm: int | None) -> str:
    return _say(context, cnm, amounts.torque_text)


@register.simple_tag(takes_context=True)
def day(context: Context, value: date | None) -> str:
    return _say(context, value, amounts.day_text)


@register.simple_tag(takes_context=True)
def moment(context: Context, at: datetime | None) -> str:
    """Day and time by the clock of the site in hand."""
    if at is None:
        return ""
    local = _by_the_clock(context, at)
    return f"{amounts.day_text(local, context['shop'])} {local:%H:%M}"


@register.simple_tag(takes_context=True)
def weekday_time(context: Context, at: datetime | None) -> str:
    """Day of the week and time by the clock of the site in hand: Thursday 12:00."""
    return "" if at is None else f"{_by_the_clock(context, at):%A %H:%M}"


def _by_the_clock(context: Context, at: datetime) -> datetime:
    site = context.get("site")
    return at.astimezone(ZoneInfo(site.zone if site else "UTC"))


@register.filter
def month(value: date | None) -> str:
    return amounts.month_text(value) if value else ""


@register.filter
def pieces(count: int) -> str:
    return "1 piece" if count == 1 else f"{count} pieces"


@register.filter
def abs_pieces(count: int) -> str:
    return pieces(abs(count))


@register.filter
def signed(count: int) -> str:
    """+2, −2 or 0, with a true minus."""
    return f"+{count}" if count > 0 else str(count).replace("-", amounts.MINUS)


@register.simple_tag
def percent(share: float | None, places: int = 0) -> str:
    """A share in percent; blank where there is nothing to divide by."""
    return "" if share is None else amounts.percent_text(share, places)


@register.simple_tag
def percent_figure(share: float | None, places: int = 0) -> str:
    """For a column whose head says percent."""
    return "" if share is None else amounts.percent_figure(share, places)


@register.filter
def thousands(count: int) -> str:
    """
    >>> thousands(1606)
    '1,606'
    """
    return f"{count:,}"
