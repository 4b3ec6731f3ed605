"""Records of how long bodies, stems and seals lasted, ready for the arithmetic of lifetimes.

One record per life, through every rim the piece sat in. What a record may say is decided here:
a piece still fitted was watched until it was last seen good, not until today, because the vehicle
may have gone elsewhere; one replaced while good, damaged or broken by us ended its watch without
failing; of a joined pair one half failed at most. A piece seen only once says nothing that could
be weighed, and if it was dead then it came to be seen because it had failed.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import NamedTuple

from django.db.models import Q

from jobs.workshop.ages import STORED_RATE, Span, Stay, chain, years_lived
from jobs.workshop.models import (
    EndReason,
    Fitted,
    FittedQuerySet,
    JobKind,
    Lamp,
    Place,
    Position,
    SinceKnown,
)

_FAULT_LAMPS = {Lamp.FLASHES, Lamp.FAULT_LAMP, Lamp.MESSAGE}
_STILL_GOOD = {EndReason.DAMAGED, EndReason.BROKEN_BY_US, EndReason.REPLACED_GOOD}


class Event(StrEnum):
    ALIVE = "alive"
    FAILED = "failed"
    FOUND_FAILED = "found_failed"


class Family(NamedTuple):
    """Pieces expected to last alike. A factory part is by the vehicle's maker; "" where unknown."""

    kind: str
    mounting: str
    construction: str
    maker: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LifeRecord:
    """One life in years of age.

    entry : when it came under our eyes, good; 0 for what was fitted new
    last_good : when it was last known good
    exit : when it failed, was found failed, or was last seen alive
    ended_on : the day it came off, for counting failures in their order
    """

    piece: int
    vehicle: int
    part: int | None
    lot: int | None
    printed_code: str
    family: Family
    entry: float
    last_good: float
    exit: float
    event: Event
    first_seen_on: date
    ended_on: date | None


class _Row(NamedTuple):
    pk: int
    wheel: int
    vehicle: int
    kind: str
    since: date
    since_known: str
    first_seen_on: date
    last_good_on: date | None
    ended_on: date | None
    end_reason: str
    continues: int | None
    part: int | None
    lot: int | None
    printed_code: str
    maker: str | None
    mounting: str | None
    construction: str | None
    vehicle_mounting: str | None
    vehicle_construction: str | None
    make: str | None
    end_job_kind: str | None
    end_job_lamp: str | None


_FIELDS = (
    "pk",
    "wheel",
    "wheel__vehicle",
    "kind",
    "since",
    "since_known",
    "first_seen_on",
    "last_good_on",
    "ended_on",
    "end_reason",
    "continues",
    "part",
    "lot",
    "printed_code",
    "part__maker",
    "part__mounting",
    "part__construction",
    "wheel__vehicle__application__mounting",
    "wheel__vehicle__application__construction",
    "wheel__vehicle__application__make",
    "ended_by_job__kind",
    "ended_by_job__lamp_before",
)

# Still there and never seen again: nothing could be weighed, and nothing continues it.
_SEEN_ONCE = Q(ended_on=None, last_good_on=None, continues=None)


def lives_by_family(
    pieces: FittedQuerySet | None = None, *, stored_rate: float = STORED_RATE
) -> dict[Family, list[LifeRecord]]:
    """The records of every family, in two queries however many there are."""
    families: defaultdict[Family, list[LifeRecord]] = defaultdict(list)
    for record in life_records(pieces, stored_rate=stored_rate):
        families[record.family].append(record)
    return dict(families)


def life_records(
    pieces: FittedQuerySet | None = None, *, stored_rate: float = STORED_RATE
) -> list[LifeRecord]:
    """One record per life; `pieces` must hold the whole chain of whatever it holds."""
    chosen = Fitted.objects.sensor_pieces() if pieces is None else pieces
    told = chosen.exclude(_SEEN_ONCE).order_by().values_list(*_FIELDS)
    rows = {values[0]: _Row(*values) for values in told}
    stored = _stored_spans()
    earlier = {pk: row.continues for pk, row in rows.items()}
    continued = set(earlier.values())
    found = (
        _record([rows[pk] for pk in chain(last, earlier)], stored, stored_rate)
        for last in rows
        if last not in continued
    )
    return [record for record in found if record is not None]


def _stored_spans() -> Mapping[int, Sequence[Span]]:
    spans: defaultdict[int, list[Span]] = defaultdict(list)
    places = Place.objects.filter(position=Position.STORED).order_by()
    for wheel, since, until in places.values_list("wheel", "since", "until"):
        spans[wheel].append(Span(since, until))
    return spans


def _record(
    rows: Sequence[_Row], stored: Mapping[int, Sequence[Span]], rate: float
) -> LifeRecord | None:
    first, last = rows[0], rows[-1]
    stays = [
        Stay(span=Span(row.since, row.ended_on), stored=stored.get(row.wheel, ())) for row in rows
    ]
    good_on = max(_days_seen_good(rows))
    event, left_on = _end(last, good_on)
    entry, last_good, exit_ = (
        years_lived(stays, day, stored_rate=rate) for day in (first.first_seen_on, good_on, left_on)
    )
    if exit_ <= entry:
        return None
    if event == Event.FOUND_FAILED and exit_ <= last_good:
        event = Event.FAILED
    return LifeRecord(
        piece=last.pk,
        vehicle=last.vehicle,
        part=first.part,
        lot=first.lot,
        printed_code=first.printed_code,
        family=_family(first),
        entry=entry,
        last_good=last_good,
        exit=exit_,
        event=event,
        first_seen_on=first.first_seen_on,
        ended_on=last.ended_on,
    )


def _days_seen_good(rows: Iterable[_Row]) -> Iterator[date]:
    """A piece was good when it was fitted or first seen, and whenever it was moved."""
    for row in rows:
        yield row.first_seen_on
        if row.last_good_on is not None:
            yield row.last_good_on


def _end(last: _Row, good_on: date) -> tuple[Event, date]:
    if last.ended_on is None:
        return Event.ALIVE, good_on
    if last.end_reason in EndReason.wear():
        brought = _brought_the_vehicle(last)
        return (Event.FAILED if brought else Event.FOUND_FAILED), last.ended_on
    return Event.ALIVE, last.ended_on if last.end_reason in _STILL_GOOD else good_on


def _brought_the_vehicle(row: _Row) -> bool:
    """Whether this failure is why the vehicle came, so that it happened about then.

    Else it was found at a visit for something else and happened at any time since the last one.
    """
    if row.end_job_kind != JobKind.SENSOR:
        return False
    if row.end_reason == EndReason.SILENT:
        return row.end_job_lamp in _FAULT_LAMPS
    return row.end_reason == EndReason.LEAKING and row.end_job_lamp == Lamp.STEADY


def _family(row: _Row) -> Family:
    factory = row.since_known == SinceKnown.FACTORY
    return Family(
        kind=row.kind,
        mounting=row.mounting or row.vehicle_mounting or "",
        construction=_known(row.construction) or _known(row.vehicle_construction) or "unknown",
        maker=row.maker or (row.make if factory and row.make else ""),
    )


def _known(construction: str | None) -> str:
    return "" if construction in {None, "unknown"} else str(construction)
