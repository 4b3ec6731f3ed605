"""One bar of the bridge opened: how much of it each kind of work moved."""

from dataclasses import dataclass

from jobs.costing.bridge import NOTHING, Cause, Work, bridge
from jobs.review.period import PeriodEarned


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkMoved:
    """Cents of one cell of the bridge, and the work behind it in both periods."""

    work: str
    cents: int
    before: Work
    after: Work


def cause_moved(cause: Cause, before: PeriodEarned, after: PeriodEarned) -> list[WorkMoved]:
    """The cells of one bar, what moved most first; they sum to the bar."""
    was, is_now = before.as_costed(), after.as_costed()
    rows = [
        WorkMoved(
            work=work,
            cents=cents,
            before=was.works.get(work, NOTHING),
            after=is_now.works.get(work, NOTHING),
        )
        for (of, work), cents in bridge(was, is_now).cells.items()
        if of is cause and cents
    ]
    return sorted(rows, key=lambda row: -abs(row.cents))
