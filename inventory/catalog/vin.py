"""What a vehicle identification number tells by itself: its check digit and its model year.

Not a decoder of makes and models: what a shop learns about a number's first eight characters it
keeps as patterns of its own. A number that passes may still be wrong (swapped letters of equal
value pass), so a failure warns and a pass promises nothing.
"""

_VALUES = {str(digit): digit for digit in range(10)} | dict(
    zip("ABCDEFGHJKLMNPRSTUVWXYZ", [*range(1, 9), *range(1, 6), 7, 9, *range(2, 10)], strict=True)
)
_WEIGHTS = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)
# Thirty letters and digits name the thirty years of one round; I, O, Q, U, Z and 0 name none.
_YEAR_CODES = "ABCDEFGHJKLMNPRSTVWXY123456789"
_FIRST_ROUND, _SECOND_ROUND = 1980, 2010


def as_vin(text: str) -> str:
    """The 17 characters of a number as typed or scanned, in capitals and without spaces.

    Raises
    ------
    ValueError
        If there are not 17 of them, or one is not a digit or a letter other than I, O and Q.

    >>> as_vin("1m8gdm9a xkp042788")
    '1M8GDM9AXKP042788'
    """
    vin = "".join(text.split()).upper()
    if len(vin) != 17:
        raise ValueError(f"A VIN has 17 characters; “{vin}” has {len(vin)}. Read it again.")
    for place, character in enumerate(vin, start=1):
        if character not in _VALUES:
            raise ValueError(
                f"“{character}” at place {place} of “{vin}” cannot stand in a VIN; "
                "letters other than I, O and Q, and digits, can."
            )
    return vin


def check_digit(vin: str) -> str:
    """The check digit the other sixteen characters call for.

    Sum of weight × value over the 17 places, modulo 11; 10 is written X. The ninth place has
    weight 0, so what stands there does not matter.

    Source: 49 CFR 565.15(c), tables III to V.

    >>> check_digit("1M8GDM9AXKP042788")
    'X'
    """
    pairs = zip(_WEIGHTS, as_vin(vin), strict=True)
    remainder = sum(weight * _VALUES[character] for weight, character in pairs) % 11
    return "X" if remainder == 10 else str(remainder)


def passes_check_digit(vin: str) -> bool:
    """Whether the ninth character is the check digit: a North American rule, to warn by.

    >>> passes_check_digit("11111111111111111")
    True
    """
    return as_vin(vin)[8] == check_digit(vin)


def model_years(vin: str, *, light_vehicle: bool, this_year: int) -> list[int]:
    """All model years the number may mean, ascending, up to two years ahead of `this_year`.

    The tenth character repeats every thirty years. For cars and light vehicles the seventh tells
    the round: a digit means 1980–2009, a letter 2010–2039. For others both stay possible.

    Source: 49 CFR 565.15, table VII and paragraph (d)(1).

    >>> model_years("1M8GDM9AXKP042788", light_vehicle=False, this_year=2026)
    [1989, 2019]
    """
    vin = as_vin(vin)
    offset = _YEAR_CODES.find(vin[9])
    if offset < 0:
        return []
    rounds = [_FIRST_ROUND, _SECOND_ROUND]
    if light_vehicle:
        rounds = [_FIRST_ROUND if vin[6].isdigit() else _SECOND_ROUND]
    return [first + offset for first in rounds if first + offset <= this_year + 2]
