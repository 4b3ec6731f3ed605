"""The wheels that the tests are about: a few plain ones, changed where a test says so.

Prices and labour are those of a worked value for visits ahead: kit 4.00, body 42.00, stem 12.00,
assembly 49.00, return visit 38.00.
"""

from typing import Any

from jobs.replacement.lives import NO_LIVES
from jobs.replacement.posterior import posterior
from jobs.replacement.priors import DEFAULT_PRIORS
from jobs.replacement.wheel import (
    Amounts,
    Construction,
    Findings,
    Heard,
    LabourAmounts,
    Mounting,
    Part,
    PartAmounts,
    Wheel,
)

ASSUMED = {name: posterior(NO_LIVES, prior).draws() for name, prior in DEFAULT_PRIORS.items()}

PARTS = PartAmounts(reseal=400, body=4200, stem=1200, assembly=4900, body_and_stem=5000)
PRICES = Amounts(parts=PARTS, labour=LabourAmounts(return_visit=3800))
DEAD = {"heard": Heard.SILENT, "tries": 2}


def part(family: str, age_years: float, **fields: Any) -> Part:
    return Part(age_years=age_years, laws=ASSUMED[family], **fields)


def _wheel(defaults: dict[str, Any], changes: dict[str, Any]) -> Wheel:
    """What names a finding goes to the findings, the rest to the wheel; a stem may be either."""
    names = [name for name in changes if name in _FINDINGS]
    found = {name: changes.pop(name) for name in names if not isinstance(changes[name], Part)}
    defaults["findings"] = Findings(**{"heard": Heard.ANSWERED} | found)
    return Wheel(**defaults | changes)


_FINDINGS = set(Findings.__dataclass_fields__)


def clamp_in(**changes: Any) -> Wheel:
    """Two-piece, three years old, all well."""
    defaults: dict[str, Any] = {
        "mounting": Mounting.CLAMP_IN,
        "construction": Construction.TWO_PIECE,
        "body": part("body", 3),
        "stem": part("metal_stem", 3),
        "seal": part("seal", 1),
        "prices": PRICES,
    }
    return _wheel(defaults, changes)


def snap_in(**changes: Any) -> Wheel:
    """Two-piece on a rubber stem, three years old, all well."""
    defaults: dict[str, Any] = {
        "mounting": Mounting.SNAP_IN,
        "construction": Construction.TWO_PIECE,
        "body": part("body", 3),
        "stem": part("rubber_stem", 3),
        "seal": part("seal", 1),
        "prices": PRICES,
    }
    return _wheel(defaults, changes)


def one_piece(**changes: Any) -> Wheel:
    return clamp_in(construction=Construction.ONE_PIECE, **changes)
