"""Codes by which a part is known: the check digit of a GTIN, and one spelling to look codes up by.

A maker's code printed on a sensor has no published rule and stays text.
"""

_GTIN_LENGTHS = (8, 12, 13, 14)


def normalised(text: str) -> str:
    """A code or a name as it is looked up: upper case, letters and digits only.

    >>> normalised(" ab-12.3/c ")
    'AB123C'
    """
    return "".join(letter for letter in text.upper() if letter.isalnum())


def gtin_check_digit(body: str) -> str:
    """The last digit of a GTIN from the digits before it.

    (10 − Σ digit × weight mod 10) mod 10, weights 3, 1, 3, 1 … from the right.

    Source: GS1 General Specifications, check digit calculation.

    >>> gtin_check_digit("629104150021")
    '3'
    """
    if not (body.isascii() and body.isdigit()):
        raise ValueError(f"A GTIN is made of digits; “{body}” is not.")
    total = sum(int(digit) * (1 if place % 2 else 3) for place, digit in enumerate(body[::-1]))
    return str(-total % 10)


def gtin14(text: str) -> str | None:
    """A GTIN of any length as 14 digits, so that one article has one number; None if it is none.

    A scanner may hand over the twelve digits under a bar code with or without a leading zero.

    >>> gtin14("6291041500213")
    '06291041500213'
    >>> gtin14("6291041500214") is None
    True
    """
    digits = normalised(text)
    if not (digits.isascii() and digits.isdigit()) or len(digits) not in _GTIN_LENGTHS:
        return None
    return digits.zfill(14) if gtin_check_digit(digits[:-1]) == digits[-1] else None
