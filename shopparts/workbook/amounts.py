"""Numbers as people write them: with blanks, commas, currency signs and units behind them."""

import re
from decimal import Decimal, InvalidOperation
from typing import Any

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
_AMOUNT = re.compile(r"([+-]?[\d.,]+)\s*(.*)")
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


def bare_amount(said: Any) -> Any:
    """An amount of money without its sign of currency, and without what a formula left behind."""
    if type(said) is str:
        return said.strip("$€£ ")
    # A formula leaves 12.100000000000001; nobody writes a millionth.
    return round(said, 6) if type(said) is float else said


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
