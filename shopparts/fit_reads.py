"""What a lamp, a gauge and a date mean for a vehicle, each with its caution.

So that a cold morning is not sold as a leak, nor a leak put down to the cold.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from inventory.catalog.fit import Findings
from inventory.catalog.models import Application, Axle, Mounting
from inventory.catalog.required import Requirement, days_built, requirement
from inventory.catalog.valves import STANDARD_RATING_KPA, snap_in_limits
from inventory.shop.amounts import MINUS, pressure_text
from inventory.shop.models import PressureUnit, ShopSettings
from inventory.shop.units import kpa_exactly, pressure_in
from jobs.workshop.pressure import (
    COLD_C,
    lamp_threshold,
    pressure_at_temperature,
    tire_at_today,
)

FREEZING_C = 0
NO_GAUGE = "The lamp is not a gauge: check every tire by gauge."
SET_COLD = "Set it cold to the placard, and look for a leak all the same."


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """A gauge held to a tire, and at which temperature the tire was when it was last set."""

    gauge_kpa: int
    tire_c: int
    set_c: int = int(COLD_C)


@dataclass(frozen=True, slots=True, kw_only=True)
class Read:
    title: str
    words: tuple[str, ...]
    caution: str


def reads(
    applications: Sequence[Application],
    *,
    findings: Findings,
    measured: Measured | None = None,
    tire: str,
    shop: ShopSettings,
) -> list[Read]:
    """Only what is the same for all the applications is read; the rest stands on the door label."""
    placards = _placards(applications)
    told = [_cold(placards, measured, shop)]
    if all(application.is_direct for application in applications):
        told.append(_lamp(placards, tire, shop))
    told += [_snap_in(applications, placards, findings, shop), _required(applications)]
    return [read for read in told if read]


def _placards(applications: Sequence[Application]) -> dict[str, int]:
    """Placard by the words for its wheels, where all agree on it; one word where both axles do."""
    found = {}
    for axle in (Axle.FRONT, Axle.REAR):
        said = {application.placard_kpa(axle) for application in applications}
        if len(said) == 1 and (kpa := said.pop()):
            found[axle.label.lower()] = kpa
    if len(found) == 2 and len(set(found.values())) == 1:
        return {"": next(iter(found.values()))}
    return found


def _each(placards: dict[str, int], words: Callable[[int], str]) -> str:
    return ", ".join(f"{axle} {words(kpa)}".strip() for axle, kpa in placards.items())


def _lamp(placards: dict[str, int], tire: str, shop: ShopSettings) -> Read | None:
    if not placards:
        return None
    unit = PressureUnit(shop.pressure_unit)
    printed = "psi" if unit == PressureUnit.PSI else "kpa"

    def lights_at(kpa: int) -> str:
        at = lamp_threshold(pressure_in(printed, kpa), tire=tire, unit=printed)
        return pressure_text(round(kpa_exactly(at, printed)), shop)

    return Read(
        title="Low-pressure lamp",
        words=(
            f"On at the latest at {_each(placards, lights_at)}, by the United States rule for a "
            f"{tire} tire: a quarter under the placard, or the rule’s floor if that is higher.",
            "Steady means a low tire; flashing a minute and then steady means a fault of the "
            "system.",
        ),
        caution=f"{NO_GAUGE} Other countries’ rules set other limits.",
    )


def _cold(placards: dict[str, int], measured: Measured | None, shop: ShopSettings) -> Read | None:
    if not placards:
        return None
    if measured is None:

        def when_freezing(kpa: int) -> str:
            cold = pressure_at_temperature(kpa, from_c=COLD_C, to_c=FREEZING_C)
            return f"{pressure_text(kpa, shop)} reads {pressure_text(round(cold), shop)}"

        words = (f"Set at {COLD_C} °C, at {FREEZING_C} °C {_each(placards, when_freezing)}.",)
        return Read(title="On a cold morning", words=words, caution=SET_COLD)
    told = tuple(_against_cold(axle, kpa, measured, shop) for axle, kpa in placards.items())
    return Read(title="Leak, or only the cold?", words=told, caution=SET_COLD)


def _against_cold(axle: str, placard_kpa: int, measured: Measured, shop: ShopSettings) -> str:
    """What the gauge shows against what the same air would show, had none been lost."""
    expected = pressure_at_temperature(placard_kpa, from_c=measured.set_c, to_c=measured.tire_c)
    missing = expected - measured.gauge_kpa
    where = f"{axle.capitalize()}: s" if axle else "S"
    said = (
        f"{where}et to {pressure_text(placard_kpa, shop)} at {_degrees(measured.set_c)} a tight "
        f"tire shows {pressure_text(round(expected), shop)} at {_degrees(measured.tire_c)}; "
        f"this one shows "
        f"{pressure_text(measured.gauge_kpa, shop)}."
    )
    if missing <= shop.gauge_tolerance_kpa:
        return f"{said} {_no_less(placard_kpa, measured, shop)}"
    return f"{said} {pressure_text(round(missing), shop)} is missing: look for a leak."


def _degrees(celsius: int) -> str:
    return f"{celsius} °C".replace("-", MINUS)


def _no_less(placard_kpa: int, measured: Measured, shop: ShopSettings) -> str:
    """Nothing is missing; the tire may be low all the same."""
    tire = tire_at_today(
        measured.gauge_kpa,
        tire_c=measured.tire_c,
        placard_kpa=placard_kpa,
        today_c=min(measured.tire_c, int(COLD_C)),
        tolerance_kpa=shop.gauge_tolerance_kpa,
    )
    if tire.low:
        short = pressure_text(round(tire.short_kpa), shop)
        return f"The cold alone explains it; it is {short} under its placard."
    return "Nothing is missing."


def _snap_in(
    applications: Sequence[Application],
    placards: dict[str, int],
    findings: Findings,
    shop: ShopSettings,
) -> Read | None:
    if all(application.mounting != Mounting.SNAP_IN for application in applications):
        return None
    placard, set_kpa = max(placards.values(), default=0), findings.pressure_set_kpa or 0
    speeds = [application.top_speed_kmh or 0 for application in applications]
    limits = snap_in_limits(
        rated_kpa=STANDARD_RATING_KPA,
        placard_kpa=placard,
        set_kpa=set_kpa,
        top_speed_kmh=max(speeds),
    )
    usual = pressure_text(STANDARD_RATING_KPA, shop)
    if not max(placard, set_kpa):
        words = f"A usual one holds {usual} cold; no pressure is known here."
    elif limits.over_rating:
        needed = pressure_text(max(placard, set_kpa), shop)
        words = f"A usual one holds {usual} cold; here only one rated {needed} or more may go in."
    else:
        words = f"A usual one holds {usual} cold, which is enough for this vehicle as listed."
    fast = ("Above 210 km/h (130 mph) clamp-in valves are recommended.",) * limits.over_speed
    return Read(
        title="Snap-in valves",
        words=(words, *fast),
        caution="The pressure really set counts: on a loaded van it is above the placard.",
    )


_REQUIRED = {
    Requirement.REQUIRED: "Built for the United States it must have a system, up to 4,536 kg "
    "(10,000 lb) gross rating and without dual wheels.",
    Requirement.MAY_OR_MAY_NOT: "Built while the rule was phased in: it may or may not have a "
    "system. See whether a lamp lights at start, and trigger a wheel.",
    Requirement.BY_MONTH: "From September 2007 on it must have a system, from October 2005 it may, "
    "before that it need not: the door label says when it was built.",
    Requirement.BEFORE: "Built before the United States rule: it need not have a system.",
    Requirement.TOO_HEAVY: "Above 4,536 kg (10,000 lb) gross rating the United States rule asks "
    "for no system.",
}


def _required(applications: Iterable[Application]) -> Read | None:
    asked = {
        requirement(
            *days_built(a.year_from, a.year_to, a.built_from, a.built_to),
            rated_weight_kg=a.rated_weight_kg,
        )
        for a in applications
    }
    if len(asked) != 1:
        return None
    return Read(
        title="Must it have a system?",
        words=(_REQUIRED[asked.pop()],),
        caution="A system that works when the vehicle comes in must work when it leaves. Local "
        "law and the vehicle maker’s procedure decide.",
    )
