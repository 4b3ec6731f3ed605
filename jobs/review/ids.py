"""Ids heard around a vehicle, not knowing where: which wheel they leave silent, and what is odd."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from jobs.workshop.identity import WheelsHeard
from jobs.workshop.models import Heard
from jobs.workshop.standing import Standing

_BETWEEN = re.compile(r"[\s,;]+")


@dataclass(frozen=True, slots=True, kw_only=True)
class IdsHeard:
    """What was typed, what it says in sentences, and how to fill in the readings because of it."""

    text: str
    sentences: tuple[str, ...]
    initial: Mapping[str, str]


def ids_heard(text: str, standing: Standing) -> IdsHeard:
    """Hold the ids against those of the mounted wheels; a word that is no id is said so."""
    words = [word for word in _BETWEEN.split(text.strip()) if word]
    if not words:
        return IdsHeard(text="", sentences=(), initial={})
    try:
        told = standing.heard(words)
    except ValueError as fault:
        return IdsHeard(text=text, sentences=(str(fault),), initial={})
    where = {now.wheel.key: now.where for now in standing.mounted}
    return IdsHeard(
        text=text,
        sentences=tuple(_sentences(told, where)),
        initial=dict(_initial(told, standing)),
    )


def _sentences(told: WheelsHeard, where: Mapping[str, str]) -> Iterator[str]:
    if told.silent:
        yield (
            f"{where[told.silent]} is the silent one: its id alone was not heard. Confirm it by "
            "the code printed on the sensor when the tire is off."
        )
    elif told.learned:
        wheel, its = told.learned
        yield (
            f"{where[wheel]} was not heard, and {its} belongs to no wheel: trigger it there, then "
            "say whose it is."
        )
    elif told.not_heard:
        yield f"Not heard: {', '.join(where[wheel].lower() for wheel in told.not_heard)}."
    else:
        yield "Every wheel was heard."
    if told.unknown and not told.learned:
        yield f"Of no wheel here: {', '.join(told.unknown)}; another vehicle may stand near."
    if told.doubled:
        yield f"On two wheels, which cannot be: {', '.join(told.doubled)}. Read both again."


def _initial(told: WheelsHeard, standing: Standing) -> Iterator[tuple[str, str]]:
    for now in standing.mounted:
        if now.wheel.key in told.answered and now.sensor_id:
            yield f"heard-{now.wheel.pk}", Heard.ANSWERED
            yield f"id-{now.wheel.pk}", now.sensor_id.sensor_id
        elif now.wheel.key == told.silent:
            yield f"heard-{now.wheel.pk}", Heard.SILENT
