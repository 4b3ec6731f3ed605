"""In how many jobs everything is there, as a person reads it, and which parts jobs wait for."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from inventory.catalog.models import Part
from inventory.reorder.models import PlanLine, PlanRun
from inventory.reorder.why import percent
from inventory.shop.amounts import percent_text
from inventory.shop.models import Site


@dataclass(frozen=True, slots=True, kw_only=True)
class WholeJobs:
    """Shares of a site's asks and jobs; `as_asked` is without anything that takes a part's place.

    `kept` are the jobs of which every part, or what takes its place, is on the shelf at all.
    """

    jobs: int
    asks_share: float
    share: float
    as_asked_share: float
    kept_jobs: int
    kept_share: float

    @property
    def sentence(self) -> str:
        return (
            f"The plan fills {percent(self.asks_share)} of asks; everything a job needs is there "
            f"in {percent(self.share)} of jobs."
        )

    @property
    def as_asked_sentence(self) -> str:
        as_asked, others = percent(self.as_asked_share), self.share - self.as_asked_share
        if as_asked == percent(self.share):
            return ""
        return (
            f"In {as_asked} that is exactly what was asked for; {percent_text(others)} more are "
            "served by body and stem put together, an assembly taken apart or a universal sensor."
        )

    @property
    def kept_sentence(self) -> str:
        """Nothing where every part of every job is kept."""
        if self.kept_jobs == self.jobs:
            return ""
        return (
            f"Of the {self.kept_jobs} of {self.jobs} jobs whose parts are all kept, "
            f"{percent(self.kept_share)} find everything."
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Wait:
    """A part, the jobs a year that need it, and those in which nothing else is missing."""

    part: Part
    line: PlanLine | None
    jobs: int
    waiting: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CommonJob:
    """What many jobs of the year needed, how many, and how often all of it is there."""

    times: int
    share: float
    needs: list[tuple[int, Part]]


@dataclass(frozen=True, slots=True, kw_only=True)
class JobWaits:
    whole: WholeJobs
    waits: list[Wait]
    common: list[CommonJob]


def whole_jobs(run: PlanRun, site: Site) -> WholeJobs | None:
    """None where no job of the year needed a part here, or an older plan did not look."""
    kept = _kept(run, site)
    if not kept:
        return None
    return WholeJobs(
        jobs=kept["jobs"],
        asks_share=kept["asks"],
        share=kept["fill"],
        as_asked_share=kept["as_asked"],
        kept_jobs=kept["kept_jobs"],
        kept_share=kept["kept_fill"],
    )


def job_waits(run: PlanRun, site: Site) -> JobWaits | None:
    kept, whole = _kept(run, site), whole_jobs(run, site)
    if whole is None:
        return None
    needed = {part for _, _, needs in kept["common"] for part, _ in needs}
    parts = Part.objects.in_bulk([*needed, *(part for part, *_ in kept["waits"])])
    lines = PlanLine.objects.filter(run=run, site=site, part__in=[one[0] for one in kept["waits"]])
    by_part = {line.part_id: line for line in lines}
    return JobWaits(
        whole=whole,
        waits=[
            Wait(part=parts[part], line=by_part.get(part), jobs=jobs, waiting=waiting)
            for part, jobs, waiting in kept["waits"]
            if part in parts
        ],
        common=list(_common(kept["common"], parts)),
    )


def _kept(run: PlanRun, site: Site) -> dict[str, Any]:
    found: dict[str, Any] = run.figures.get("whole_jobs", {}).get(str(site.pk), {})
    return found


def _common(kept: list[list[Any]], parts: dict[int, Part]) -> Iterator[CommonJob]:
    for times, share, needs in kept:
        known = [(pieces, parts[part]) for part, pieces in needs if part in parts]
        if len(known) == len(needs):
            yield CommonJob(times=times, share=share, needs=known)
