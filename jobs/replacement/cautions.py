"""Cautions that go with an action, by key and in words. They defer to those who know better.

Local law, the vehicle maker's procedure and licensed practice come first; what is said of law is
United States law and no legal advice. The first caution of a list is the one that matters most.
"""

from collections.abc import Iterator
from enum import StrEnum

from jobs.replacement.actions import Action
from jobs.replacement.need import Need
from jobs.replacement.wheel import Heard, Mounting, Wheel


class Caution(StrEnum):
    DEFLATE = "deflate"
    LIFT = "lift"
    BEAD = "bead"
    SEATING = "seating"
    TORQUE = "torque"
    SEAL_ONCE = "seal_once"
    RUBBER_ONCE = "rubber_once"
    METALS = "metals"
    READ_FIRST = "read_first"
    RELEARN = "relearn"
    CELL = "cell"
    SEALANT = "sealant"
    DEAD_ON_ARRIVAL = "dead_on_arrival"
    WORKING_SENSOR = "working_sensor"
    NO_SENSOR = "no_sensor"
    SET_COLD = "set_cold"


CAUTION_WORDS = {
    Caution.DEFLATE: "Let all air out before loosening a valve nut or breaking a bead. "
    "Wear eye protection.",
    Caution.LIFT: "Lift and support the vehicle as its maker says; wheel nuts to the maker's "
    "torque and order, checked again.",
    Caution.BEAD: "Keep bead breaker and mount head clear of the sensor.",
    Caution.SEATING: "Seat beads with a clip-on chuck, standing clear, and not above 275 kPa "
    "(40 psi).",
    Caution.TORQUE: "Start threads by hand and tighten by the sensor's own service data; "
    "where none is given, look it up.",
    Caution.SEAL_ONCE: "A seal takes its shape once: never refit it, unless the maker's "
    "procedure says so.",
    Caution.RUBBER_ONCE: "A rubber stem that has left its hole is never refitted.",
    Caution.METALS: "Aluminum stem: nickel-plated core and plastic cap, other metals seize.",
    Caution.READ_FIRST: "Read the new sensor before it is mounted.",
    Caution.RELEARN: "Re-learn with the brake set, in fresh air, nobody near; then set all "
    "pressures cold, read them back and road-check before release.",
    Caution.CELL: "The old sensor holds a sealed lithium cell: never open, heat or crush it; "
    "dispose of it by local rule.",
    Caution.SEALANT: "Sealant inside: follow the maker's procedure for the sensor; what comes "
    "out may burn.",
    Caution.DEAD_ON_ARRIVAL: "A sensor that came in dead may be replaced by a plain valve if the "
    "customer so decides; the lamp may not be disabled. Write down who decided.",
    Caution.WORKING_SENSOR: "A working sensor that we break must work again before the vehicle "
    "is released. Write down lamp and sensor before the work.",
    Caution.NO_SENSOR: "A vehicle whose system works may not leave with wheels that have no "
    "working sensor: move the sensors, sell sensors, or decline.",
    Caution.SET_COLD: "Set pressure cold from the placard and check it by gauge: the lamp is "
    "no gauge.",
}

_OPENING = (Caution.DEFLATE, Caution.LIFT, Caution.BEAD, Caution.TORQUE, Caution.SEATING)
_BY_ACTION = {
    Action.LEAVE: (Caution.SET_COLD,),
    Action.RESEAL: (Caution.SEAL_ONCE, *_OPENING),
    Action.BODY: (Caution.READ_FIRST, *_OPENING, Caution.RELEARN, Caution.CELL),
    Action.STEM: _OPENING,
    Action.ASSEMBLY: (Caution.READ_FIRST, *_OPENING, Caution.RELEARN, Caution.CELL),
}


def cautions_for(wheel: Wheel, action: Action | None, need: Need) -> tuple[Caution, ...]:
    """The cautions of an action on this wheel, the one that matters most first, each once."""
    return tuple(dict.fromkeys(_cautions(wheel, action, need)))


def _cautions(wheel: Wheel, action: Action | None, need: Need) -> Iterator[Caution]:
    found = wheel.findings
    if found.is_dead:
        yield Caution.DEAD_ON_ARRIVAL
    elif found.heard is Heard.PLAIN_VALVE:
        yield Caution.NO_SENSOR
    if found.sealant_inside:
        yield Caution.SEALANT
    if need is Need.RELEARN:
        yield Caution.RELEARN
    opens = action not in (None, Action.LEAVE)
    if opens and wheel.is_snap_in:
        yield Caution.RUBBER_ONCE
    yield from _BY_ACTION[action or Action.LEAVE]
    if opens and wheel.mounting is Mounting.CLAMP_IN:
        yield from (Caution.SEAL_ONCE, Caution.METALS)
    if opens and found.heard is Heard.ANSWERED:
        yield Caution.WORKING_SENSOR
