"""Radio bands of sensors: which labels name one band, and which never match.

The band of a vehicle is a fact of its application; nothing here infers it from region or make.
The windows are common practice, no source: 433, 433.92 and 434 are printed for one band, 314.9
and 315 for the other, and a sensor of one is not heard on the other.
"""

import re
from decimal import Decimal

Frequency = Decimal | float | int | str

# Inclusive, in MHz. 433.05–434.79 is the European short-range band (from memory).
_WINDOWS = {"315": (Decimal("314"), Decimal("316")), "433": (Decimal("433"), Decimal("434.79"))}
OTHER = "other"

_LABEL = re.compile(r"^\s*(\d+(?:[.,]\d+)?)\s*(mhz|ghz)?\s*$", re.IGNORECASE)


def megahertz(label: Frequency) -> Decimal:
    """The frequency a label prints, in MHz.

    Raises
    ------
    ValueError
        If the label is not a number with or without MHz or GHz behind it.

    >>> megahertz("433,92 MHz"), megahertz("2.4 GHz")
    (Decimal('433.92'), Decimal('2400.0'))
    """
    found = _LABEL.match(str(label))
    if found is None:
        raise ValueError(f"“{label}” is not a frequency; write one such as 315 or 433.92 MHz.")
    value = Decimal(found[1].replace(",", "."))
    return value * 1000 if (found[2] or "").lower() == "ghz" else value


def band(label: Frequency) -> str:
    """The band a label names: "315", "433" or "other".

    >>> band("314.9"), band(434), band("2.4 GHz")
    ('315', '433', 'other')
    """
    frequency = megahertz(label)
    for name, (low, high) in _WINDOWS.items():
        if low <= frequency <= high:
            return name
    return OTHER


def same_band(a: Frequency, b: Frequency) -> bool:
    """Whether two labels name one band; two frequencies outside both bands only when equal.

    >>> same_band(433.92, 434), same_band(315, 433.92)
    (True, False)
    """
    if OTHER == band(a) == band(b):
        return megahertz(a) == megahertz(b)
    return band(a) == band(b)
