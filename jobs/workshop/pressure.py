"""Tire pressures: when the lamp must light, what a gauge reads when cold, what sensor and tire are.

Whether a *sensor* is healthy (it agrees with a gauge beside it) and whether its *tire* is right
(at today's temperature) are two questions and have two answers here. Kilopascals and °C
throughout, save the lamp's published floor, which the rule prints in two units. Setting a tire
stays a matter of the placard, a gauge and a cold tire.
"""

from dataclasses import dataclass
from decimal import Decimal

from inventory.shop.units import ABSOLUTE_ZERO_C

Amount = Decimal | float | int

# Sea level, 14.695949 psi: what an absolute pressure has and a gauge does not show.
ATMOSPHERE_KPA = Decimal("101.325")
COLD_C = Decimal(20)
"""68 °F: "cold" where nothing better is known than the usual reference."""

# 49 CFR 571.138, table 1, as printed in kPa and psi; the first row published, read; the others
# from memory. The two columns are not conversions of each other, so both are kept.
LAMP_FLOORS = {
    "passenger standard load": {"kpa": 140, "psi": 20},
    "passenger extra load": {"kpa": 160, "psi": 23},
    "light truck load range C": {"kpa": 200, "psi": 29},
    "light truck load range D": {"kpa": 260, "psi": 38},
    "light truck load range E": {"kpa": 350, "psi": 51},
}


@dataclass(frozen=True, slots=True, kw_only=True)
class TireFinding:
    """A tire's pressure as it would read at today's temperature, and what it lacks to placard."""

    cold_kpa: float
    short_kpa: float
    low: bool


def lamp_threshold(placard: Amount, *, tire: str, unit: str = "kpa") -> Decimal:
    """The pressure at or below which the lamp must light, by the United States rule.

    The higher of 25 % below the recommended cold pressure and the floor for the kind of tire.

    Parameters
    ----------
    placard : recommended cold pressure, in `unit`
    tire : a key of `LAMP_FLOORS`
    unit : "kpa" or "psi"; the rule's floor is taken as printed in it

    Source: 49 CFR 571.138 S4.2 and table 1.

    >>> lamp_threshold(35, tire="passenger standard load", unit="psi")
    Decimal('26.25')
    """
    if tire not in LAMP_FLOORS:
        known = ", ".join(LAMP_FLOORS)
        raise ValueError(f"The rule has no row for “{tire}”; use one of {known}.")
    return max(Decimal(str(placard)) * 3 / 4, Decimal(LAMP_FLOORS[tire][unit]))


def pressure_at_temperature(gauge_kpa: Amount, *, from_c: Amount, to_c: Amount) -> Decimal:
    """What a gauge reads on the same air at another temperature.

    (p + p₀)·T₂/T₁ − p₀, absolute temperatures: a gauge pressure itself does not scale.

    Source: ideal gas at constant volume.

    >>> round(pressure_at_temperature(241.3, from_c=20, to_c=-18), 1)
    Decimal('196.9')
    """
    start, end = (Decimal(str(c)) - ABSOLUTE_ZERO_C for c in (from_c, to_c))
    if start <= 0 or end < 0:
        raise ValueError(f"No tire is at {min(from_c, to_c)} °C, which is below absolute zero.")
    return (Decimal(str(gauge_kpa)) + ATMOSPHERE_KPA) * end / start - ATMOSPHERE_KPA


def sensor_agrees(sensor_kpa: Amount, *, gauge_kpa: Amount, tolerance_kpa: Amount) -> bool:
    """Whether a sensor shows what the gauge beside it shows, within the shop's tolerance.

    >>> sensor_agrees(232, gauge_kpa=237, tolerance_kpa=7)
    True
    """
    return abs(Decimal(str(sensor_kpa)) - Decimal(str(gauge_kpa))) <= Decimal(str(tolerance_kpa))


def tire_at_today(
    gauge_kpa: Amount,
    *,
    tire_c: Amount,
    placard_kpa: Amount,
    today_c: Amount = COLD_C,
    tolerance_kpa: Amount = 0,
) -> TireFinding:
    """Hold a tire against its placard as it will stand once it is as cold as the day.

    Parameters
    ----------
    gauge_kpa, tire_c : pressure and temperature of the tire as it was read
    placard_kpa : recommended cold pressure
    today_c : the day's temperature
    tolerance_kpa : shortage that is let pass

    >>> tire_at_today(232, tire_c=39, placard_kpa=234).low
    True
    """
    cold = pressure_at_temperature(gauge_kpa, from_c=tire_c, to_c=today_c)
    short = Decimal(str(placard_kpa)) - cold
    return TireFinding(
        cold_kpa=round(float(cold), 1),
        short_kpa=round(float(short), 1),
        low=short > Decimal(str(tolerance_kpa)),
    )
