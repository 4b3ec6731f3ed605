"""What is known of a vehicle besides its parts, said once where all entries agree."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from inventory.catalog.models import Application, Axle
from inventory.catalog.spans import span_text
from inventory.shop.amounts import day_text, pressure_text, torque_text
from inventory.shop.models import ShopSettings
from shopparts.fit import apart, what_differs

NOT_KNOWN = "not known"
LOOK_IT_UP = "look it up in the service data"


@dataclass(frozen=True, slots=True, kw_only=True)
class Fact:
    label: str
    values: tuple[str, ...]


def title(applications: Sequence[Application]) -> str:
    """The answer in a line: band, mounting, construction."""
    if not applications[0].is_direct:
        return "No sensors in the wheels: plain valves and a reset"
    words = (
        _either(a.get_band_display() or "band not known" for a in applications),
        _either(a.get_mounting_display() or "mounting not known" for a in applications),
        _either(_construction(a) for a in applications),
    )
    text = ", ".join(words).lower().replace("mhz", "MHz")
    return text[:1].upper() + text[1:]


def _construction(application: Application) -> str:
    known = application.construction != "unknown"
    return application.get_construction_display() if known else "one or two pieces not known"


def _either(values: Iterable[str]) -> str:
    return " or ".join(dict.fromkeys(values))


def names(applications: Sequence[Application]) -> list[str]:
    """Each entry by name, with years, months, trim and wheel."""
    return [
        f"{a.make} {a.model} {', '.join(filter(None, [span_text(a), a.trim, a.wheel]))}"
        for a in applications
    ]


def facts(applications: Sequence[Application], shop: ShopSettings) -> list[Fact]:
    differing = what_differs(applications)
    told = [
        (label, [tell(application) for application in applications])
        for label, tell in _tellers(shop)
        if any(application.is_direct or label in _ALSO_INDIRECT for application in applications)
    ]
    return [
        Fact(label=label, values=_values(values, applications, differing))
        for label, values in told
        if any(values)
    ]


def _values(
    values: Sequence[str],
    applications: Sequence[Application],
    differing: list[Callable[[Application], str]],
) -> tuple[str, ...]:
    if len(set(values)) == 1:
        return (values[0],)
    said = (
        f"{value or NOT_KNOWN} ({apart(application, differing)})"
        for value, application in zip(values, applications, strict=True)
    )
    return tuple(dict.fromkeys(said))


_ALSO_INDIRECT = {"Placard", "Wheel nuts", "Facts from"}


def _tellers(shop: ShopSettings) -> list[tuple[str, Callable[[Application], str]]]:
    return [
        ("Valve hole", lambda a: a.get_hole_display() or NOT_KNOWN),
        ("Sensor sits", lambda a: a.sensor_place),
        ("Sensors", _sensors),
        ("Placard", lambda a: _placard(a, shop)),
        ("Wheel nuts", lambda a: _torque(a.wheel_nut_torque_cnm, shop)),
        ("Ids stored", lambda a: "" if a.ids_stored is None else str(a.ids_stored)),
        ("Facts from", lambda a: _origin(a, shop)),
    ]


def _sensors(application: Application) -> str:
    spare = "one of them in the spare" if application.spare_has_sensor else "none in the spare"
    return f"{application.sensors}, {spare}"


def _placard(application: Application, shop: ShopSettings) -> str:
    axles = [(axle, application.placard_kpa(axle)) for axle in (Axle.FRONT, Axle.REAR, Axle.SPARE)]
    said = [f"{axle.label.lower()} {pressure_text(kpa, shop)}" for axle, kpa in axles if kpa]
    return ", ".join(said) or "read the door label"


def _torque(cnm: int | None, shop: ShopSettings) -> str:
    return torque_text(cnm, shop) if cnm else LOOK_IT_UP


def _origin(application: Application, shop: ShopSettings) -> str:
    when = day_text(application.source_date, shop) if application.source_date else ""
    return ", ".join(filter(None, [application.source, when]))
