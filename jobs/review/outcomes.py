"""What became of the bodies we gave a chance to, held against that chance.

Only advice written down before its outcome counts, only bodies that stayed on, and only once the
whole time it spoke of is over: an early failure alone would count against bodies not yet done.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from typing import NamedTuple

from inventory.templatetags.charts import Line, LineChart
from jobs.replacement.track_record import ENOUGH_OUTCOMES, Said, track_record
from jobs.workshop.models import AdviceGiven, EndReason, Fitted, PieceKind

_STILL_GOOD = {EndReason.REPLACED_GOOD, EndReason.DAMAGED, EndReason.BROKEN_BY_US}


class Outcome(StrEnum):
    FAILED = "failed"
    LASTED = "lasted"
    NOT_OVER = "not_over"
    NOT_SEEN = "not_seen"


class BodyLife(NamedTuple):
    """A body on one wheel, as much of it as an outcome needs."""

    pk: int
    wheel: int
    since: date
    ended_on: date | None
    end_reason: str
    last_good_on: date | None
    continues: int | None
    ended_by: int | None


class Told(NamedTuple):
    """One advice: on which wheel, on which day, how likely it said a failure is within how long."""

    job: int
    wheel: int
    day: date
    chance: float
    until: date


@dataclass(frozen=True, slots=True, kw_only=True)
class AdviceRecord:
    """Every advice with an outcome, and how many have none yet or never will."""

    groups: Sequence[Said]
    failed: int
    lasted: int
    not_over: int
    not_seen: int

    @property
    def outcomes(self) -> int:
        return self.failed + self.lasted

    @property
    def is_enough(self) -> bool:
        return self.outcomes >= ENOUGH_OUTCOMES

    @property
    def missing(self) -> int:
        return ENOUGH_OUTCOMES - self.outcomes

    @property
    def said(self) -> list[Said]:
        return [group for group in self.groups if group.wheels]

    @property
    def expected(self) -> float:
        """Failures that the chances told add up to."""
        return sum((group.said or 0.0) * group.wheels for group in self.groups)

    @property
    def picture(self) -> LineChart:
        shown = self.said
        points = [(100 * (g.said or 0.0), 100 * (g.happened or 0.0)) for g in shown]
        bands = [(100 * (g.low95 or 0.0), 100 * (g.high95 or 0.0)) for g in shown]
        return LineChart(
            title="What we said, and what happened",
            description=(
                f"{self.outcomes} bodies: {self.expected:.0f} failures told, {self.failed} came."
            ),
            x_label="said to fail, %",
            y_label="failed, %",
            y_top=100.0,
            lines=(
                Line(label="happened", points=points, low_high=bands),
                Line(label="as said", points=[(0.0, 0.0), (100.0, 100.0)]),
            ),
        )


def advice_record(*, today: date) -> AdviceRecord:
    """The last advice of each job on each wheel, with what became of the body it was about."""
    told = list(_told())
    lives = _lives({one.wheel for one in told})
    found = [(one, outcome_of(one, lives, today=today)) for one in told]
    known = [(one, how) for one, how in found if how in (Outcome.FAILED, Outcome.LASTED)]
    count = {how: sum(1 for _, its in found if its is how) for how in Outcome}
    return AdviceRecord(
        groups=track_record(
            [one.chance for one, _ in known], [how is Outcome.FAILED for _, how in known]
        ),
        failed=count[Outcome.FAILED],
        lasted=count[Outcome.LASTED],
        not_over=count[Outcome.NOT_OVER],
        not_seen=count[Outcome.NOT_SEEN],
    )


def _told() -> Iterable[Told]:
    rows = AdviceGiven.objects.filter(
        body_fails_per_mille__isnull=False, horizon_days__isnull=False
    ).select_related("job__site")
    last = {(row.job_id, row.wheel_id): row for row in rows.order_by("at", "pk")}
    for row in last.values():
        day = row.job.site.day_of(row.at)
        yield Told(
            job=row.job_id,
            wheel=row.wheel_id,
            day=day,
            chance=(row.body_fails_per_mille or 0) / 1000,
            until=day + timedelta(days=row.horizon_days or 0),
        )


def _lives(wheels: Iterable[int]) -> list[BodyLife]:
    bodies = Fitted.objects.filter(kind=PieceKind.BODY, wheel__vehicle__wheels__in=list(wheels))
    fields = ("pk", "wheel", "since", "ended_on", "end_reason", "last_good_on", "continues")
    rows = bodies.distinct().order_by("since", "pk").values_list(*fields, "ended_by_job")
    return [BodyLife(*row) for row in rows]


def outcome_of(told: Told, lives: Iterable[BodyLife], *, today: date) -> Outcome | None:
    """What became of the body that was there when the advice was given.

    None where that body came off on the job of the advice: nobody can know how long it would last.
    """
    bodies = list(lives)
    there = [
        body
        for body in bodies
        if body.wheel == told.wheel
        and body.since <= told.day
        and (body.ended_on is None or body.ended_on >= told.day)
    ]
    if not there or there[0].ended_by == told.job:
        return None
    last = _followed(there[0], {body.continues: body for body in bodies if body.continues})
    if told.until > today:
        return Outcome.NOT_OVER
    return _by(last, told.until)


def _followed(body: BodyLife, next_of: Mapping[int, BodyLife]) -> BodyLife:
    while body.pk in next_of:
        body = next_of[body.pk]
    return body


def _by(body: BodyLife, until: date) -> Outcome:
    wore_out = body.end_reason in EndReason.wear()
    if wore_out and body.ended_on is not None:
        return Outcome.FAILED if body.ended_on <= until else Outcome.LASTED
    good = [body.last_good_on, body.ended_on if body.end_reason in _STILL_GOOD else None]
    seen = max((day for day in good if day is not None), default=None)
    return Outcome.LASTED if seen is not None and seen >= until else Outcome.NOT_SEEN
