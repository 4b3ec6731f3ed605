"""Which wheel is which, by the ids heard around one vehicle. Pure: it reads no records.

An id is told apart only among the wheels mounted on one vehicle: copies repeat on a stored set.
A tool that hears three of four known ids has told which wheel is silent, without touching it.
"""

import re
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

_HEX = re.compile(r"^[0-9A-F]{1,16}$")


def plain_id(text: str) -> str:
    """A sensor id as it is kept and compared: upper case, no separators, no leading zeros.

    Raises
    ------
    ValueError
        If it is not made of hexadecimal digits.

    >>> plain_id("00 a1-b2:c3")
    'A1B2C3'
    """
    bare = re.sub(r"[\s:.-]", "", text).upper()
    if not _HEX.match(bare):
        raise ValueError(
            f"“{text}” is not a sensor id; write up to 16 hexadecimal digits, such as 1A2B3C4D."
        )
    return bare.lstrip("0") or "0"


@dataclass(frozen=True, slots=True, kw_only=True)
class WheelsHeard:
    """What the ids heard say about the mounted wheels. Wheels by whatever names them.

    answered : wheels whose id was heard
    not_heard : wheels whose id was not heard, or is not known
    unknown : ids heard that belong to no mounted wheel: a new sensor, another shop's work, or one
        prepared here and not written down
    doubled : ids that two mounted wheels carry, which cannot both be right
    """

    answered: tuple[str, ...]
    not_heard: tuple[str, ...]
    unknown: tuple[str, ...]
    doubled: tuple[str, ...]

    @property
    def silent(self) -> str | None:
        """The one silent wheel; None while an unknown id may be its own, or when several are."""
        if len(self.not_heard) == 1 and not self.unknown:
            return self.not_heard[0]
        return None

    @property
    def learned(self) -> tuple[str, str] | None:
        """The one wheel not accounted for and the one id not accounted for: they may be a pair."""
        if len(self.not_heard) == len(self.unknown) == 1:
            return self.not_heard[0], self.unknown[0]
        return None


def wheels_heard(mounted: Mapping[str, str], heard: Iterable[str]) -> WheelsHeard:
    """Hold the ids heard against those of the mounted wheels; "" where a wheel's is not known.

    >>> known = {"FL": "A1", "FR": "B2", "RL": "C3", "RR": "D4"}
    >>> wheels_heard(known, ["00a1", "C3", "D4"]).silent
    'FR'
    """
    ids = {wheel: plain_id(its) if its else "" for wheel, its in mounted.items()}
    spoken = list(dict.fromkeys(plain_id(one) for one in heard))
    counts = Counter(one for one in ids.values() if one)
    return WheelsHeard(
        answered=tuple(wheel for wheel, its in ids.items() if its in spoken),
        not_heard=tuple(wheel for wheel, its in ids.items() if its not in spoken),
        unknown=tuple(one for one in spoken if one not in counts),
        doubled=tuple(one for one, times in counts.items() if times > 1),
    )
