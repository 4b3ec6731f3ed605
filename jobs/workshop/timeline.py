"""What happened to a vehicle, newest first: jobs, pieces, ids, places, declines. No money."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date
from itertools import groupby

from jobs.workshop.models import (
    Declined,
    EndReason,
    Fitted,
    Job,
    Place,
    Position,
    SinceKnown,
    Vehicle,
    Wheel,
    WheelId,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Happening:
    """On one day, on these wheels or the whole vehicle, on a job or apart from one."""

    on: date
    words: str
    wheels: tuple[Wheel, ...] = ()
    job: Job | None = None


def timeline(vehicle: Vehicle) -> list[Happening]:
    """Everything dated about a vehicle; a constant number of queries."""
    found = [
        *_jobs(vehicle),
        *_declined(vehicle),
        *_pieces(vehicle),
        *_ids(vehicle),
        *_places(vehicle),
    ]
    return sorted(_together(found), key=lambda one: one.on, reverse=True)


def _together(found: Iterable[Happening]) -> Iterable[Happening]:
    """What happened alike to several wheels on one day is told once."""
    told: dict[tuple[date, str, Job | None], Happening] = {}
    for one in found:
        alike = one.on, one.words, one.job
        before = told.get(alike)
        told[alike] = replace(before, wheels=before.wheels + one.wheels) if before else one
    return told.values()


def _jobs(vehicle: Vehicle) -> Iterator[Happening]:
    for job in vehicle.jobs.select_related("site", "comeback_of"):
        words = job.get_kind_display()
        if job.words:
            words += f": {job.words}"
        if job.comeback_of is not None:
            words += f", came back from {job.comeback_of}: {job.get_cause_display().lower()}"
        if job.odometer_km is not None:
            words += f", at {job.odometer_km:,} km"
        yield Happening(on=job.site.day_of(job.opened_at), words=words, job=job)


def _declined(vehicle: Vehicle) -> Iterator[Happening]:
    rows = Declined.objects.filter(job__vehicle=vehicle).select_related("job__site", "wheel")
    for one in rows:
        yield Happening(
            on=one.job.site.day_of(one.at),
            words=f"Declined: {one.get_action_display().lower()}; {one.why}",
            wheels=(one.wheel,) if one.wheel else (),
            job=one.job,
        )


def _pieces(vehicle: Vehicle) -> Iterator[Happening]:
    rows = Fitted.objects.filter(wheel__vehicle=vehicle)
    for piece in rows.select_related("wheel", "part", "by_job", "ended_by_job", "continues__wheel"):
        yield Happening(
            on=piece.since, words=_fitted_words(piece), wheels=(piece.wheel,), job=piece.by_job
        )
        if piece.ended_on is not None and piece.end_reason != EndReason.MOVED:
            words = f"{piece.get_kind_display()} off: {piece.get_end_reason_display().lower()}"
            yield Happening(
                on=piece.ended_on, words=words, wheels=(piece.wheel,), job=piece.ended_by_job
            )


def _fitted_words(piece: Fitted) -> str:
    kind = piece.get_kind_display()
    if piece.continues is not None:
        return f"{kind} moved here from wheel {piece.continues.wheel}"
    named = f" {piece.part}" if piece.part else ""
    if piece.since_known == SinceKnown.FITTED:
        return f"{kind}{named} fitted"
    how = piece.get_since_known_display().partition(":")[0].lower()
    return f"{kind}{named} there since then ({how})"


def _ids(vehicle: Vehicle) -> Iterator[Happening]:
    for its in WheelId.objects.filter(wheel__vehicle=vehicle).select_related("wheel"):
        words = f"Answers with {its.sensor_id} ({its.get_origin_display().lower()})"
        yield Happening(on=its.since, words=words, wheels=(its.wheel,))


def _places(vehicle: Vehicle) -> Iterator[Happening]:
    """A set that goes and one that comes is two lines, however many wheels it has."""
    rows = Place.objects.of(vehicle).select_related("wheel").order_by("since", "pk")
    for on, places in groupby(rows, key=lambda place: place.since):
        mounted = []
        for place in places:
            if place.position == Position.STORED:
                yield Happening(on=on, words="Stored", wheels=(place.wheel,))
            else:
                mounted.append(f"{place.wheel} {place.get_position_display().lower()}")
        if mounted:
            yield Happening(on=on, words=f"Mounted: {', '.join(mounted)}")
