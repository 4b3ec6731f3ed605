"""Which kinds of part an application should have, and which of them nothing is offered for.

Common practice, no source: a sensor in each wheel of a direct system, and what is renewed with the
tire off, a stem where it snaps in and a kit where it is clamped; a plain valve where there is none.
"""

from collections.abc import Iterable

from inventory.catalog.inputs import Possible
from inventory.catalog.models import Mounting, PartKind

_SENSOR = ("sensor", frozenset({PartKind.ASSEMBLY, PartKind.BODY}))
_RENEWED = {
    Mounting.SNAP_IN: ("stem", frozenset({PartKind.STEM, PartKind.ASSEMBLY})),
    Mounting.CLAMP_IN: ("service kit", frozenset({PartKind.KIT})),
}
_VALVE = ("plain valve", frozenset({PartKind.PLAIN_VALVE}))


def roles_missing(possible: Possible) -> list[str]:
    """The roles for which no listed part may be fitted, in words."""
    offered = {chosen.part.kind for chosen in possible.offer().offered}
    return [words for words, kinds in _roles(possible) if not offered & kinds]


def _roles(possible: Possible) -> Iterable[tuple[str, frozenset[PartKind]]]:
    if not possible.need.direct:
        yield _VALVE
        return
    yield _SENSOR
    mounting = possible.need.mounting
    if mounting and (renewed := _RENEWED.get(Mounting(mounting))):
        yield renewed
