"""The sentence behind an advice, in the words of the bay: what forces it, then what else pays."""

from collections.abc import Iterator

from jobs.replacement.actions import ACTIONS, MAKES_NEW, PARTS, Action
from jobs.replacement.mask import Mask
from jobs.replacement.need import NEED_WORDS, Need
from jobs.replacement.wheel import Wheel

_NOTHING_PAYS = "replacing a part now would cost more than the risk of waiting"
_NOTHING_SOLD = "no action that the rules allow has a part with a price; price one or look again"
# With a part among the needs, the part's own clause says more than the need would.
_SAID_BY_PARTS = frozenset({Need.NONE, Need.PART, Need.WRONG_SENSOR})


def because_of(
    need: Need, action: Action | None, mask: Mask, wheel: Wheel, fails: list[float]
) -> str:
    """One sentence, or two where something comes before the part.

    fails : chance of failing before the next tire change, of body, stem and seal as they are
    """
    if need is Need.INSPECT:
        return NEED_WORDS[need]
    if action is None:
        return _sentence([_NOTHING_SOLD])
    if action is Action.LEAVE:
        return NEED_WORDS[need] if need not in _SAID_BY_PARTS else _sentence([_NOTHING_PAYS])
    first = "" if need in _SAID_BY_PARTS else NEED_WORDS[need]
    return f"{first} {_sentence(list(_clauses(action, mask, wheel, fails)))}".strip()


def _clauses(action: Action, mask: Mask, wheel: Wheel, fails: list[float]) -> Iterator[str]:
    made = {part for part, new in zip(PARTS, _new_by(action), strict=True) if new}
    # A new seal goes without saying where more than the seal is new.
    told = [part for part in PARTS if part in made and (part != "seal" or len(made) == 1)]
    forces = [force for part in told if (force := mask.forced(part))]
    extra = [part for part in told if not mask.forced(part)]
    yield from (force.clause for force in forces)
    if wheel.is_one_piece and extra and action is Action.ASSEMBLY:
        yield from _one_piece(extra, wheel, fails)
    else:
        yield from (_extra(part, bool(forces), mask, wheel, fails) for part in extra)


def _new_by(action: Action) -> list[bool]:
    new: list[bool] = MAKES_NEW[ACTIONS.index(action)].tolist()
    return new


def _one_piece(extra: list[str], wheel: Wheel, fails: list[float]) -> Iterator[str]:
    if len(extra) == 2:
        likelier = max(extra, key=lambda part: fails[PARTS.index(part)])
        yield _pays(likelier, wheel, fails)
    yield "a one-piece sensor is replaced whole"


def _extra(part: str, forced: bool, mask: Mask, wheel: Wheel, fails: list[float]) -> str:
    """Why a part nothing forces is made new: it cannot be left alone, or it pays."""
    without_it = Action.BODY if part == "stem" else Action.STEM
    if forced and part != "seal" and without_it in mask.reasons:
        reason = mask.reasons[without_it].rstrip(".")
        return f"{reason[0].lower()}{reason[1:]}"
    return _pays(part, wheel, fails)


def _pays(part: str, wheel: Wheel, fails: list[float]) -> str:
    if part == "body" and wheel.findings.is_weak:
        return "its battery is weak and sealed in, and a new one now costs less than a visit later"
    age, risk = _age_words(getattr(wheel, part).age_years), fails[PARTS.index(part)]
    return (
        f"the {part} is {age}, and a new one now costs less than its {risk:.0%} risk of failing "
        "before the next tire change"
    )


def _age_words(years: float) -> str:
    if years < 1:
        return "less than a year old"
    whole = round(years)
    return "1 year old" if whole == 1 else f"{whole} years old"


def _sentence(clauses: list[str]) -> str:
    text = "; ".join(clauses)
    return f"{text[0].upper()}{text[1:]}." if text else ""
