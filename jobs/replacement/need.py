"""Is a part needed at all: what comes before any weighing of parts.

Most lamps are put out without a sensor. The first that fits is the answer; PART means that parts
are worth weighing, NONE that nothing is wrong with this wheel.
"""

from enum import StrEnum

from jobs.replacement.wheel import Construction, Findings, Heard, Lamp, LeakAt, Wheel


class Need(StrEnum):
    NONE = "none"
    PART = "part"
    RELEARN = "relearn"
    CORE = "core"
    FIND_FAULT = "find_fault"
    FIND_LEAK = "find_leak"
    TRY_AGAIN = "try_again"
    NOT_TRIED = "not_tried"
    WRONG_SENSOR = "wrong_sensor"
    INSPECT = "inspect"
    NO_SENSOR_HERE = "no_sensor_here"


NEED_WORDS = {
    Need.NONE: "It answers and nothing is wrong with it.",
    Need.PART: "A part is worth replacing here.",
    Need.RELEARN: "It answers, but the vehicle does not know its id: re-learn, no part needed.",
    Need.CORE: "It leaks at the valve core only: replace the core, the tire stays on.",
    Need.FIND_FAULT: "Every wheel answers and the vehicle knows the ids, yet the lamp reports a "
    "fault: find the fault in the vehicle first.",
    Need.FIND_LEAK: "It leaks, but not at a part of the sensor: find and mend that leak.",
    Need.TRY_AGAIN: "Silent once is not dead: turn the wheel, move the tool and try again.",
    Need.NOT_TRIED: "Nobody has tried this sensor yet: trigger it first.",
    Need.WRONG_SENSOR: "It answers in a band this vehicle does not hear: the wrong sensor is on "
    "this wheel.",
    Need.INSPECT: "Nobody knows yet whether this sensor is one piece or two: look at it first.",
    Need.NO_SENSOR_HERE: "A temporary spare carries no sensor: nothing to replace on it.",
}

SETTLED_WITHOUT_PARTS = frozenset(
    {
        Need.RELEARN,
        Need.CORE,
        Need.FIND_FAULT,
        Need.FIND_LEAK,
        Need.TRY_AGAIN,
        Need.NOT_TRIED,
        Need.NO_SENSOR_HERE,
    }
)
"""With the tire on, these end the matter: no part is weighed."""

_FAULT_LAMPS = (Lamp.FLASHES, Lamp.FAULT_LAMP, Lamp.MESSAGE)


def first_need(wheel: Wheel) -> Need:
    """What this wheel needs before, or instead of, a part.

    Source: common practice, no source.

    Returns
    -------
    Need; NONE where only age could speak for a part
    """
    found = wheel.findings
    if found.heard is Heard.TEMPORARY_SPARE:
        return Need.NO_SENSOR_HERE
    if found.has_no_use or (found.stem_is_bad and wheel.sits_on_valve):
        return _with_a_part(wheel)
    return _leaking(wheel) or _hearing(found)


def _with_a_part(wheel: Wheel) -> Need:
    if wheel.sits_on_valve and wheel.construction is Construction.UNKNOWN:
        return Need.INSPECT
    if wheel.findings.heard is Heard.WRONG_BAND:
        return Need.WRONG_SENSOR
    return Need.PART


def _leaking(wheel: Wheel) -> Need | None:
    found = wheel.findings
    if found.leak_at is LeakAt.CORE and not found.tire_off:
        return Need.CORE
    if found.leak_at is LeakAt.SEAL and wheel.sits_on_valve:
        return Need.PART
    return None if found.leak_at in (LeakAt.NONE, LeakAt.CORE) else Need.FIND_LEAK


def _hearing(found: Findings) -> Need:
    if found.heard is Heard.NOT_TRIED:
        return Need.NOT_TRIED
    if found.heard is Heard.SILENT:
        return Need.TRY_AGAIN
    if found.id_stored is False:
        return Need.RELEARN
    if found.all_answer and found.ids_match and found.lamp in _FAULT_LAMPS:
        return Need.FIND_FAULT
    return Need.NONE
