"""Units a shop reads and writes, turned into the ones the records keep: kPa, cN·m, °C.

Exact decimal arithmetic; rounding happens once, on the way in (to whole kPa and cN·m) or on the
way out (to the digits a gauge or a wrench shows).
"""

from decimal import ROUND_HALF_UP, Decimal

Amount = Decimal | float | int | str

# Exact by definition: 1 lbf = 0.45359237 kg × 9.80665 m/s², 1 in = 0.0254 m. NIST SP 811
# Appendix B.8 prints 1 psi = 6.894757 kPa, and 1 lbf·in = 0.1129848 N·m.
_NEWTONS_PER_LBF = Decimal("0.45359237") * Decimal("9.80665")
_METRES_PER_INCH = Decimal("0.0254")
KPA_PER_PSI = _NEWTONS_PER_LBF / _METRES_PER_INCH**2 / 1000
CNM_PER_LBF_IN = _NEWTONS_PER_LBF * _METRES_PER_INCH * 100

_KPA_PER = {"kpa": Decimal(1), "psi": KPA_PER_PSI, "bar": Decimal(100)}
_CNM_PER = {"cnm": Decimal(1), "nm": Decimal(100), "lbf_in": CNM_PER_LBF_IN}
# What a gauge or a torque wrench shows: finer digits would pretend more than whole kPa hold.
_SHOWN = {
    "kpa": Decimal("1"),
    "psi": Decimal("0.1"),
    "bar": Decimal("0.01"),
    "cnm": Decimal("1"),
    "nm": Decimal("0.01"),
    "lbf_in": Decimal("0.1"),
}
ABSOLUTE_ZERO_C = Decimal("-273.15")
KMH_PER_MPH = Decimal("1.609344")
KG_PER_LB = Decimal("0.45359237")


def kpa_exactly(value: Amount, unit: str) -> Decimal:
    """A pressure in kPa, unrounded. `unit` is "kpa", "psi" or "bar".

    >>> round(kpa_exactly(35, "psi"), 4)
    Decimal('241.3165')
    """
    return Decimal(str(value)) * _factor(_KPA_PER, unit)


def whole_kpa(value: Amount, unit: str) -> int:
    """A pressure as the records keep it: whole kPa.

    >>> whole_kpa(35, "psi"), whole_kpa("2.4", "bar")
    (241, 240)
    """
    return _whole(kpa_exactly(value, unit))


def pressure_in(unit: str, kpa: Amount) -> Decimal:
    """A kept pressure as a gauge in this unit shows it.

    Whole kPa are coarser than tenths of a psi, so the roundest psi figure that would have been
    kept as this one is shown: 34 psi is kept as 234 kPa, which is 33.94 psi.

    >>> pressure_in("psi", 234), pressure_in("bar", 234)
    (Decimal('34.0'), Decimal('2.34'))
    """
    value = Decimal(str(kpa)) / _factor(_KPA_PER, unit)
    if unit == "psi":
        for doubled in (value.to_integral_value() * 2, (value * 2).to_integral_value()):
            if whole_kpa(doubled / 2, unit) == kpa:
                return _shown(doubled / 2, unit)
    return _shown(value, unit)


def whole_cnm(value: Amount, unit: str) -> int:
    """A torque as the records keep it: whole cN·m. `unit` is "cnm", "nm" or "lbf_in".

    >>> whole_cnm(7, "nm"), whole_cnm(62, "lbf_in")
    (700, 701)
    """
    return _whole(Decimal(str(value)) * _factor(_CNM_PER, unit))


def torque_in(unit: str, cnm: Amount) -> Decimal:
    """A kept torque as a wrench in this unit shows it.

    >>> torque_in("nm", 700), torque_in("lbf_in", 700)
    (Decimal('7.00'), Decimal('62.0'))
    """
    return _shown(Decimal(str(cnm)) / _factor(_CNM_PER, unit), unit)


def celsius(fahrenheit: Amount) -> Decimal:
    """A temperature in °C from one in °F.

    >>> celsius(68)
    Decimal('20')
    """
    return (Decimal(str(fahrenheit)) - 32) * 5 / 9


def kilometres_per_hour(miles_per_hour: Amount) -> Decimal:
    """A speed in km/h from one in mph.

    >>> kilometres_per_hour(130)
    Decimal('209.214720')
    """
    return Decimal(str(miles_per_hour)) * KMH_PER_MPH


def _factor(table: dict[str, Decimal], unit: str) -> Decimal:
    try:
        return table[unit]
    except KeyError:
        known = ", ".join(table)
        raise ValueError(f"“{unit}” is not a unit known here; use one of {known}.") from None


def _whole(value: Decimal) -> int:
    return int(value.to_integral_value(ROUND_HALF_UP))


def _shown(value: Decimal, unit: str) -> Decimal:
    return value.quantize(_SHOWN[unit], ROUND_HALF_UP)
