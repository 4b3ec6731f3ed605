"""Numbers as people write them: with blanks, commas, currency signs and units behind them."""

import re
from decimal import Decimal, InvalidOperation
from typing import Any

from inventory.shop.amounts import SIGNS
from inventory.shop.units import KG_PER_LB, KMH_PER_MPH

PRESSURES = {"psi": "psi", "kpa": "kpa", "bar": "bar"}
# Torques by their letters; feet are twelve inches.
TORQUES = {
    "nm": ("nm", 1),
    "cnm": ("cnm", 1),
    "lbfin": ("lbf_in", 1),
    "inlbf": ("lbf_in", 1),
    "lbin": ("lbf_in", 1),
    "inlb": ("lbf_in", 1),
    "inlbs": ("lbf_in", 1),
    "lbsin": ("lbf_in", 1),
    "lbfft": ("lbf_in", 12),
    "ftlbf": ("lbf_in", 12),
    "lbft": ("lbf_in", 12),
    "ftlb": ("lbf_in", 12),
    "ftlbs": ("lbf_in", 12),
    "lbsft": ("lbf_in", 12),
}
_ONE = Decimal(1)
_PIECES = dict.fromkeys(("pc", "pcs", "piece", "pieces", "ea", "each"), _ONE)
_SHARE = {"%": _ONE, "percent": _ONE}
# What may stand behind a count, by how the name of its field ends, and what it is worth there.
COUNTS: dict[str, dict[str, Decimal]] = {
    "minutes": dict.fromkeys(("min", "mins", "minute", "minutes"), _ONE)
    | dict.fromkeys(("h", "hour", "hours"), Decimal(60)),
    "months": dict.fromkeys(("mo", "month", "months"), _ONE)
    | dict.fromkeys(("yr", "yrs", "year", "years"), Decimal(12)),
    "days": dict.fromkeys(("d", "day", "days"), _ONE)
    | dict.fromkeys(("week", "weeks"), Decimal(7)),
    "percent": _SHARE,
    "percent_per_year": _SHARE,
    "_kmh": dict.fromkeys(("km/h", "kmh", "kph"), _ONE) | {"mph": KMH_PER_MPH},
    "_kg": {"kg": _ONE} | dict.fromkeys(("lb", "lbs"), KG_PER_LB),
    "_km": {"km": _ONE} | dict.fromkeys(("mi", "mile", "miles"), KMH_PER_MPH),
    "pieces": _PIECES,
    "quantity": _PIECES,
    "pack": _PIECES,
    "counted": _PIECES,
    "packs": dict.fromkeys(("pack", "packs"), _ONE),
    "sensors": dict.fromkeys(("sensor", "sensors"), _ONE),
}
_AMOUNT = re.compile(r"([+-]?[\d.,]+)\s*(.*)")
_PRICED = re.compile(
    r"([+-]?)([$€£]|[A-Za-z]{3}(?= ?[\d.,]))? ?([+-]?[\d.,]+) ?([$€£]|[A-Za-z]{3})?"
)
# Far beyond any amount, and short enough that “1e999999999” is not worked out.
_LONGEST = 40
_LARGEST_POWER = 30


def number(said: Any) -> Decimal:
    """The number a cell holds; ValueError when it holds none.

    >>> number("1,234.50"), number("2,4"), number(4)
    (Decimal('1234.50'), Decimal('2.4'), Decimal('4'))
    """
    if isinstance(said, bool) or (isinstance(said, str) and len(said) > _LONGEST):
        raise ValueError(said)
    try:
        found = Decimal(_plain(repr(said) if isinstance(said, float) else str(said)))
    except InvalidOperation:
        raise ValueError(said) from None
    if not found.is_finite() or found.adjusted() > _LARGEST_POWER:
        raise ValueError(said)
    return found


def _plain(text: str) -> str:
    """“1,234.50” → “1234.50” and “2,4” → “2.4”: a comma before three digits parts thousands."""
    if re.fullmatch(r"[+-]?\d{1,3}(,\d{3})+(\.\d+)?", text):
        return text.replace(",", "")
    return text.replace(",", ".") if text.count(",") == 1 and "." not in text else text


class ForeignError(Exception):
    """An amount that names another currency than the shop's."""


def bare_amount(said: Any, currency: str) -> Any:
    """An amount of money without its currency, and without what a formula left behind.

    >>> bare_amount("$12.50", "USD"), bare_amount("12.50 USD", "USD")
    ('12.50', '12.50')
    """
    if type(said) is str:
        return _in_currency(said, currency)
    # A formula leaves 12.100000000000001; nobody writes a millionth.
    return round(said, 6) if type(said) is float else said


def _in_currency(said: str, currency: str) -> str:
    found = _PRICED.fullmatch(said.strip())
    if found is None:
        return said
    for named in filter(None, (found[2], found[4])):
        if named.upper() not in {currency, SIGNS.get(currency)}:
            raise ForeignError(said)
    return f"{found[1] or ''}{found[3]}"


def counted(said: Any, field: str) -> Any:
    """A count without the word behind it, where the column says which words can stand there.

    >>> counted("10 min", "relearn_minutes"), counted("2 years", "warranty_months")
    ('10', Decimal('24'))
    """
    found = _AMOUNT.fullmatch(said) if type(said) is str else None
    if found is None or not found[2]:
        return said
    times = _words_of(field).get(found[2].strip().rstrip(".").casefold())
    if times is None:
        return said
    return found[1] if times == 1 else (number(found[1]) * times).to_integral_value()


def _words_of(field: str) -> dict[str, Decimal]:
    return next((words for end, words in COUNTS.items() if field.endswith(end)), {})


def measure(said: Any) -> tuple[Decimal, str]:
    """A number and the letters of the unit behind it; ValueError when there is no number.

    >>> measure("62 lbf·in")
    (Decimal('62'), 'lbfin')
    """
    if type(said) is not str:
        return number(said), ""
    found = _AMOUNT.fullmatch(said)
    if found is None:
        raise ValueError(said)
    return number(found[1]), letters(found[2])


def letters(text: str) -> str:
    """Units and headings as they are compared: letters and digits in lower case."""
    return "".join(letter for letter in text.casefold() if letter.isalnum())
