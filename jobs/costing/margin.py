"""What a line, a job, a period earned: price less what the parts really cost, less labour at cost.

All in cents, so that lines sum to jobs and jobs to periods exactly. What counts as cost of a line
(the cents of its issue and of whatever returned, undid or corrected it) is gathered elsewhere.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Self

from jobs.costing.ratios import share

CHARGED_CAUSES = frozenset({"part_failed", "our_work", "wrong_part"})
"""Causes for which a comeback is charged to the job it comes from. A new fault, damage on the
road and another shop's work are not."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Margin:
    """Cents of one line, or summed over many. Credits are what a supplier gave back."""

    price_cents: int = 0
    parts_cents: int = 0
    labour_cents: int = 0
    credit_cents: int = 0

    @property
    def cost_cents(self) -> int:
        return self.parts_cents + self.labour_cents - self.credit_cents

    @property
    def margin_cents(self) -> int:
        return self.price_cents - self.cost_cents

    @property
    def share(self) -> float | None:
        """Margin as a share of the price; None where nothing was charged."""
        return share(self.margin_cents, self.price_cents)

    def __add__(self, other: Self) -> Self:
        return type(self)(
            price_cents=self.price_cents + other.price_cents,
            parts_cents=self.parts_cents + other.parts_cents,
            labour_cents=self.labour_cents + other.labour_cents,
            credit_cents=self.credit_cents + other.credit_cents,
        )


def margin_of(lines: Iterable[Margin]) -> Margin:
    """The margin of a job from its lines, of a period from its jobs.

    >>> job = margin_of([Margin(price_cents=6000, parts_cents=4000), Margin(labour_cents=900)])
    >>> job.margin_cents
    1100
    """
    return sum(lines, Margin())


@dataclass(frozen=True, slots=True, kw_only=True)
class JobMargin:
    """A job with what it earned by itself, and the job it comes back from, if it does."""

    key: str
    own: Margin
    comeback_of: str | None = None
    cause: str = ""

    @property
    def is_charged(self) -> bool:
        return self.comeback_of is not None and self.cause in CHARGED_CAUSES


@dataclass(frozen=True, slots=True, kw_only=True)
class ChargedJob:
    """A job after comebacks were charged to their cause.

    own : by itself; comebacks_cents : what its comebacks earned, mostly below 0
    comebacks : keys of those jobs
    charged_to : the job that carries this one; None where it carries itself
    """

    key: str
    own: Margin
    comebacks_cents: int
    comebacks: tuple[str, ...]
    charged_to: str | None

    @property
    def margin_cents(self) -> int:
        """What remains at this job. Over all jobs these sum to what all earned by themselves."""
        return 0 if self.charged_to else self.own.margin_cents + self.comebacks_cents


def charged_to_cause(jobs: Iterable[JobMargin]) -> dict[str, ChargedJob]:
    """Charge each comeback to the job that caused it, through as many comebacks as there are.

    Parameters
    ----------
    jobs : with the jobs they come back from among them; a comeback of a job that is not stays
        where it is

    Returns
    -------
    dict of ChargedJob by key

    Raises
    ------
    ValueError
        If jobs come back from one another in a circle.
    """
    by_key = {job.key: job for job in jobs}
    bearer = {key: _bearer(job, by_key) for key, job in by_key.items()}
    carried: dict[str, list[JobMargin]] = {key: [] for key in by_key}
    for key, job in by_key.items():
        if bearer[key] != key:
            carried[bearer[key]].append(job)
    return {
        key: ChargedJob(
            key=key,
            own=job.own,
            comebacks_cents=sum(other.own.margin_cents for other in carried[key]),
            comebacks=tuple(other.key for other in carried[key]),
            charged_to=bearer[key] if bearer[key] != key else None,
        )
        for key, job in by_key.items()
    }


def _bearer(job: JobMargin, by_key: Mapping[str, JobMargin]) -> str:
    seen = [job.key]
    while job.is_charged and (cause := by_key.get(job.comeback_of or "")):
        job = cause
        if job.key in seen:
            raise ValueError(
                f"jobs {', '.join(seen)} come back from one another in a circle; "
                "correct which job each comes back from"
            )
        seen.append(job.key)
    return job.key
