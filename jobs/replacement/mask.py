"""The hard rules: which actions are out of the question on a wheel, each with its reason.

They come before any cost. A rule names the parts it forces to be new; an action that leaves such
a part as it is falls away with the rule's sentence. What a wheel does not allow at all (half of a
one-piece sensor, a part nobody sells) falls away first.

Source: common practice, no source, save where the maker's procedure is named.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from jobs.replacement.actions import ACTIONS, MAKES_NEW, PARTS, Action
from jobs.replacement.wheel import (
    Construction,
    Findings,
    Heard,
    LeakAt,
    Policy,
    StemCondition,
    Wheel,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Force:
    """A part that has to be made new, the sentence that says why, and the clause for "because"."""

    part: str
    clause: str

    @property
    def sentence(self) -> str:
        return f"{self.clause[0].upper()}{self.clause[1:]}."


@dataclass(frozen=True, slots=True, kw_only=True)
class Mask:
    """Why each action is ruled out; an action without a reason is open."""

    reasons: dict[Action, str]
    forces: tuple[Force, ...]

    @property
    def allowed(self) -> tuple[bool, ...]:
        return tuple(action not in self.reasons for action in ACTIONS)

    def forced(self, part: str) -> Force | None:
        return next((force for force in self.forces if force.part == part), None)


def mask_of(wheel: Wheel, policy: Policy) -> Mask:
    """Hold a wheel against the hard rules.

    Parameters
    ----------
    wheel : Wheel
    policy : the shop's settings, of which the one for rubber stems is a rule here

    Returns
    -------
    Mask
    """
    forces = tuple(_forces(wheel, policy))
    reasons: dict[Action, str] = {}
    for action, reason in _impossible(wheel, policy):
        reasons.setdefault(action, reason)
    for force in forces:
        for action in _leaving_old(force.part):
            reasons.setdefault(action, force.sentence)
    return Mask(reasons=reasons, forces=forces)


_LEAVING_OLD = {
    part: tuple(a for a, new in zip(ACTIONS, MAKES_NEW[:, column], strict=True) if not new)
    for column, part in enumerate(PARTS)
}


def _leaving_old(part: str) -> tuple[Action, ...]:
    return _LEAVING_OLD[part]


_APART = (Action.BODY, Action.STEM)
_OFF_VALVE = "This sensor does not sit on the valve: it is replaced whole or not at all."
_WHOLE_ONLY = "A one-piece sensor is replaced whole: body and stem do not come apart."
_NOT_SEEN = "Look first whether this sensor is one piece or two."
_NO_SENSOR = "There is no sensor in this wheel: only a whole one brings it back."
_KIT_IS_STEM = "On a snap-in the service kit is a new stem: see stem."


def _impossible(wheel: Wheel, policy: Policy) -> Iterator[tuple[Action, str]]:
    yield from _by_build(wheel)
    if wheel.findings.heard is Heard.PLAIN_VALVE:
        yield from ((action, _NO_SENSOR) for action in _APART)
    if wheel.is_snap_in:
        yield Action.RESEAL, _KIT_IS_STEM
        if policy.rubber_stem_is_old(wheel.stem):
            yield Action.BODY, _RUBBER_STEM[policy.rubber_stem_months is None]
    yield from _not_to_be_had(wheel)


def _by_build(wheel: Wheel) -> Iterator[tuple[Action, str]]:
    if not wheel.sits_on_valve:
        yield from ((action, _OFF_VALVE) for action in (Action.RESEAL, *_APART))
    elif wheel.is_one_piece:
        yield from ((action, _WHOLE_ONLY) for action in _APART)
    elif wheel.construction is Construction.UNKNOWN:
        yield from ((action, _NOT_SEEN) for action in (*_APART, Action.ASSEMBLY))


# Getting at the body takes the tire off, and a rubber stem then follows the shop's rule.
_RUBBER_STEM = {
    True: "Getting at the body takes the tire off, and the rubber stem is always replaced then.",
    False: "Getting at the body takes the tire off, and this rubber stem is too old to stay.",
}


def _not_to_be_had(wheel: Wheel) -> Iterator[tuple[Action, str]]:
    parts = wheel.prices.parts
    priced = {
        Action.RESEAL: (parts.reseal, "service kit"),
        Action.BODY: (parts.body, "body"),
        Action.STEM: (parts.stem, "stem"),
        Action.ASSEMBLY: (parts.whole, "assembly"),
    }
    for action, (cents, words) in priced.items():
        if cents is None:
            yield action, f"No {words} with a price fits this wheel."


def _forces(wheel: Wheel, policy: Policy) -> Iterator[Force]:
    found = wheel.findings
    if found.has_no_use:
        yield Force(part="body", clause=_useless(found))
    elif found.is_weak and found.tire_off:
        yield Force(part="body", clause="the battery is weak and sealed in, and the tire is off")
    if wheel.sits_on_valve:
        yield from _forced_stem(wheel, policy)
        yield from _forced_seal(wheel)


def _useless(found: Findings) -> str:
    if found.heard is Heard.WRONG_BAND:
        return "this sensor answers in a band the vehicle does not hear"
    if found.heard is Heard.PLAIN_VALVE:
        return "there is a plain valve where this vehicle has a sensor"
    return f"the body is dead: silent after {found.tries} tries, and its battery is sealed in"


def _forced_stem(wheel: Wheel, policy: Policy) -> Iterator[Force]:
    found = wheel.findings
    if found.stem_is_bad:
        yield Force(part="stem", clause=f"the stem {_bad_stem(found)}")
    if not wheel.is_snap_in:
        return
    if found.leak_at is LeakAt.SEAL:
        yield Force(part="stem", clause="the snap-in leaks where it sits in the rim")
    if found.tire_off and policy.rubber_stem_is_old(wheel.stem):
        always = policy.rubber_stem_months is None
        rule = "a rubber stem is always replaced then" if always else "its rubber stem is too old"
        yield Force(part="stem", clause=f"the tire is off, and {rule}")


def _bad_stem(found: Findings) -> str:
    if found.stem in (StemCondition.SOUND, StemCondition.NOT_SEEN):
        return "leaks"
    return f"is {found.stem.value}"


def _forced_seal(wheel: Wheel) -> Iterator[Force]:
    found = wheel.findings
    if wheel.is_snap_in:
        return
    if found.leak_at is LeakAt.SEAL:
        yield Force(part="seal", clause="it leaks at the seal")
    elif found.leak_at is LeakAt.CORE and found.tire_off:
        yield Force(part="seal", clause="it leaks at the valve core, which comes with the kit")
    elif found.tire_off and not found.seal_may_stay:
        yield Force(part="seal", clause="the tire is off, and the seal of a clamp-in is used once")
