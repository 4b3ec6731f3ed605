"""Bodies and stems in use on a day, with their ages, laws and vehicles; who came when, and where.

A rubber stem is renewed with the tire, which usage tells: only the others are watched for failing.
"""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from django.db.models import Q

from jobs.review.inputs.laws import ShopLaws
from jobs.workshop.ages import Span, Stay, chain, years_lived
from jobs.workshop.lives import Family
from jobs.workshop.models import Account, Fitted, Job, PieceKind, Place, Position, SinceKnown


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """Where and when a vehicle was here last."""

    site: int
    on: date


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One body or stem in use. `sensor` tells whether its failure is the whole sensor's."""

    vehicle: int
    application: int
    seen: Seen
    sensor: bool
    family: Family
    age_good: float
    age_now: float


class _Row(NamedTuple):
    """Plain rows: records of all that is fitted take five times as long to make."""

    pk: int
    kind: str
    since_known: str
    first_seen_on: date
    last_good_on: date | None
    vehicle: int
    application: int
    mounting: str
    construction: str
    make: str
    part_construction: str | None
    part_maker: str | None


_FIELDS = (
    "pk",
    "kind",
    "since_known",
    "first_seen_on",
    "last_good_on",
    "wheel__vehicle",
    "wheel__vehicle__application",
    "wheel__vehicle__application__mounting",
    "wheel__vehicle__application__construction",
    "wheel__vehicle__application__make",
    "part__construction",
    "part__maker",
)


def vehicles_seen(as_of: date) -> dict[int, Seen]:
    """Every vehicle that had been here by a day, with its last visit."""
    jobs = Job.objects.filter(opened_at__date__lte=as_of).order_by("opened_at", "pk")
    rows = jobs.values_list("vehicle_id", "site_id", "opened_at__date")
    return {vehicle: Seen(site=site, on=day) for vehicle, site, day in rows}


def pieces_in_use(
    as_of: date, laws: ShopLaws, seen: Mapping[int, Seen], *, of: Account | None = None
) -> list[Piece]:
    """What is fitted on a day to vehicles that were here, of one account or all.

    A constant number of queries.
    """
    fitted = (
        Fitted.objects.sensor_pieces()
        .filter(Q(ended_on=None) | Q(ended_on__gt=as_of), first_seen_on__lte=as_of)
        .filter(kind__in=[PieceKind.BODY, PieceKind.STEM])
        .exclude(wheel__vehicle__application=None)
        .exclude(kind=PieceKind.STEM, wheel__vehicle__application__mounting="snap_in")
        .order_by("pk")
    )
    if of is not None:
        fitted = fitted.filter(wheel__vehicle__account=of)
    stays = Stays.read()
    rows = (_Row(*values) for values in fitted.values_list(*_FIELDS))
    return [
        _piece(row, as_of, laws, stays, seen[row.vehicle]) for row in rows if row.vehicle in seen
    ]


def _piece(piece: _Row, as_of: date, laws: ShopLaws, stays: "Stays", seen: Seen) -> Piece:
    construction = piece.part_construction or "unknown"
    if construction == "unknown":
        construction = piece.construction
    maker = piece.part_maker or ""
    if not maker and piece.since_known == SinceKnown.FACTORY:
        maker = piece.make
    # It was good when it came to us, and when last looked at, but of later looks nothing is known.
    looked = min(piece.last_good_on or piece.first_seen_on, max(seen.on, piece.first_seen_on))
    return Piece(
        vehicle=piece.vehicle,
        application=piece.application,
        seen=seen,
        sensor=piece.kind == PieceKind.BODY or construction == "one_piece",
        family=laws.family_of(piece.kind, piece.mounting, construction, maker),
        age_good=stays.age(piece.pk, max(piece.first_seen_on, looked)),
        age_now=stays.age(piece.pk, as_of),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Stays:
    """Where every piece has been, for its age on any day."""

    fitted: Mapping[int, tuple[int, Span]]
    earlier: Mapping[int, int | None]
    stored: Mapping[int, list[Span]]

    @classmethod
    def read(cls) -> "Stays":
        rows = list(
            Fitted.objects.order_by().values_list(
                "pk", "wheel_id", "since", "ended_on", "continues_id"
            )
        )
        stored: defaultdict[int, list[Span]] = defaultdict(list)
        places = Place.objects.filter(position=Position.STORED).order_by()
        for wheel, since, until in places.values_list("wheel_id", "since", "until"):
            stored[wheel].append(Span(since, until))
        return cls(
            fitted={pk: (wheel, Span(since, ended)) for pk, wheel, since, ended, _ in rows},
            earlier={pk: before for pk, _, _, _, before in rows},
            stored=stored,
        )

    def age(self, piece: int, on: date) -> float:
        """Years, from the first wheel the piece sat in."""
        lived = [self.fitted[pk] for pk in chain(piece, self.earlier)]
        return years_lived(
            [Stay(span=span, stored=self.stored.get(wheel, ())) for wheel, span in lived], on
        )
