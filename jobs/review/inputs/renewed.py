"""What a job has renewed on each wheel, and what is left of the findings made before it did."""

from collections.abc import Mapping
from copy import copy
from datetime import datetime

from jobs.workshop.models import Inspection, Job, LeakAt, PieceKind, StemCondition

# A new stem and a new kit come with a core and a seal of their own.
STOPPED_BY = {
    LeakAt.STEM: {PieceKind.STEM},
    LeakAt.SEAL: {PieceKind.STEM, PieceKind.SEAL},
    LeakAt.CORE: {PieceKind.STEM, PieceKind.SEAL},
}


def renewed_on(job: Job) -> dict[int, dict[str, datetime]]:
    """By wheel and kind of piece, when this job put the one in that stands there now."""
    lines = job.lines.filter(posting__isnull=False, quantity__gt=0)
    issued = dict(lines.order_by("posting").values_list("part", "posting__happened_at"))
    found: dict[int, dict[str, datetime]] = {}
    for wheel, kind, part in job.fitted.now().values_list("wheel", "kind", "part"):
        if part in issued:
            found.setdefault(wheel, {})[kind] = issued[part]
    return found


def still_found(seen: Inspection | None, renewed: Mapping[str, datetime]) -> Inspection | None:
    """An inspection as it holds for a wheel some of whose pieces were renewed on the same job.

    What was seen of a piece that has gone since is no finding of the new one, and a tire that was
    off for it has nothing more to ask for.
    """
    if seen is None or not renewed:
        return seen
    left = copy(seen)
    left.tire_off = False
    gone = {kind for kind, at in renewed.items() if seen.seen_at is None or seen.seen_at < at}
    if PieceKind.STEM in gone:
        left.stem = StemCondition.SOUND
    if gone & STOPPED_BY.get(LeakAt(seen.leak_at), set()):
        left.leak_at = LeakAt.NONE
    return left
