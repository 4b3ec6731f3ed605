"""Which parts fit a vehicle, in which order to offer them, and why the others are left out.

Pure: it reads no records and knows no prices. The rules that keep a wrong part off a wheel stand
here and nowhere else; the catalogue's fitments only propose.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

from inventory.catalog.models import Axle, Band, Construction, Hole, Mounting, PartKind
from inventory.catalog.valves import SNAP_IN_TOP_SPEED_KMH, STANDARD_RATING_KPA

WITH_RADIO = frozenset({PartKind.ASSEMBLY, PartKind.BODY})
OF_A_SENSOR = WITH_RADIO | {PartKind.STEM, PartKind.KIT, PartKind.SEAL}
THROUGH_THE_RIM = frozenset({PartKind.ASSEMBLY, PartKind.STEM, PartKind.KIT, PartKind.PLAIN_VALVE})
SOLD_APART_ONLY_OF_TWO_PIECE = frozenset({PartKind.BODY, PartKind.STEM})


@dataclass(frozen=True, slots=True, kw_only=True)
class Need:
    """What a vehicle asks of its parts. An empty string or None: not known."""

    direct: bool = True
    band: str = ""
    mounting: str = ""
    hole: str = ""
    construction: str = Construction.UNKNOWN
    placard_front_kpa: int | None = None
    placard_rear_kpa: int | None = None
    placard_spare_kpa: int | None = None
    spare_has_sensor: bool = False
    top_speed_kmh: int | None = None

    def placards(self, axle: str) -> list[int]:
        """The placards known for these wheels; every wheel's, where a part is for all."""
        of_axle = {
            Axle.FRONT: [self.placard_front_kpa],
            Axle.REAR: [self.placard_rear_kpa],
            Axle.SPARE: [self.placard_spare_kpa],
        }
        all_wheels = [self.placard_front_kpa, self.placard_rear_kpa]
        if self.spare_has_sensor:
            all_wheels.append(self.placard_spare_kpa)
        return [kpa for kpa in of_axle.get(Axle(axle), all_wheels) if kpa is not None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Findings:
    """What the technician has seen on the wheel itself."""

    band_heard: str = ""
    hole: str = ""
    construction: str = ""
    own_wheel: bool = False
    pressure_set_kpa: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """A part the catalogue proposes for the vehicle, and what is known of it today."""

    pk: int
    number: str
    kind: str
    bands: frozenset[str] = frozenset()
    mounting: str = ""
    hole: str = ""
    rated_pressure_kpa: int | None = None
    axle: str = Axle.ALL
    rank: int = 1
    quantity: int = 1
    prepared_as: str = ""
    here: int = 0
    elsewhere: int = 0
    arriving: int = 0
    confirmed: int = 0
    contradicted: int = 0
    margin_cents: int | None = None
    replaces: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Offered:
    part: Candidate
    warnings: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Excluded:
    part: Candidate
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    offered: tuple[Offered, ...]
    excluded: tuple[Excluded, ...]

    def by_role(self) -> list[tuple[PartKind, list[Offered]]]:
        """What is offered, role by role, in the order a wheel is thought of."""
        roles = ((kind, [o for o in self.offered if o.part.kind == kind]) for kind in PartKind)
        return [(kind, parts) for kind, parts in roles if parts]

    @property
    def answer(self) -> frozenset[tuple[int, str, int, str]]:
        """What would be fitted, and nothing that changes with the day."""
        return frozenset(
            (o.part.pk, o.part.axle, o.part.quantity, o.part.prepared_as) for o in self.offered
        )


def _in_kpa(kpa: int) -> str:
    return f"{kpa} kPa"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Case:
    """One vehicle as it stands: the application, corrected by what the wheel itself shows."""

    need: Need
    found: Findings
    pressure: Callable[[int], str] = field(default=_in_kpa)

    @property
    def band(self) -> str:
        return self.need.band or self.found.band_heard

    @property
    def hole(self) -> str:
        return self.found.hole or ("" if self.found.own_wheel else self.need.hole)

    @property
    def construction(self) -> str:
        seen = self.found.construction
        if self.found.own_wheel:
            return seen or Construction.UNKNOWN
        return seen or self.need.construction

    def pressure_kpa(self, axle: str) -> int | None:
        known = self.need.placards(axle)
        if self.found.pressure_set_kpa is not None:
            known.append(self.found.pressure_set_kpa)
        return max(known, default=None)


def offer(
    need: Need,
    candidates: Iterable[Candidate],
    *,
    findings: Findings | None = None,
    say_pressure: Callable[[int], str] = _in_kpa,
) -> Offer:
    """Sort what the catalogue proposes into what may be fitted, best first, and what may not.

    Never offered: a part for another band, a snap-in rated below the higher of placard and
    pressure set, a part for another hole, a body or stem for a one-piece sensor, any part of a
    sensor where there is none, a plain valve where there should be a sensor. On a customer's own
    wheel the hole and the construction come from what was seen; only the band follows the vehicle.

    Parameters
    ----------
    need : what the application says
    candidates : parts proposed by fitments and supersessions
    findings : what was seen on the wheel
    say_pressure : turns kPa into the words of a reason

    Source: the Tire and Rim Association's snap-in limits (`inventory.catalog.valves`); the rest
    is common practice, no source.
    """
    case = _Case(need=need, found=findings or Findings(), pressure=say_pressure)
    offered, excluded = [], []
    for part in candidates:
        if reason := _reason_against(case, part):
            excluded.append(Excluded(part=part, reason=reason))
        else:
            offered.append(Offered(part=part, warnings=tuple(_warnings(case, part))))
    offered.sort(key=lambda chosen: _order(case, chosen.part))
    excluded.sort(key=lambda left_out: left_out.part.number)
    return Offer(offered=tuple(offered), excluded=tuple(excluded))


def _reason_against(case: _Case, part: Candidate) -> str | None:
    rules = (_wrong_system, _wrong_band, _wrong_hole, _one_piece, _over_rating)
    return next((reason for rule in rules if (reason := rule(case, part))), None)


def _wrong_system(case: _Case, part: Candidate) -> str | None:
    if not case.need.direct and part.kind in OF_A_SENSOR:
        return "This vehicle measures by wheel speed: there is no sensor in the wheel."
    bare_spare = part.axle == Axle.SPARE and not case.need.spare_has_sensor
    if case.need.direct and part.kind == PartKind.PLAIN_VALVE and not bare_spare:
        return "This vehicle has a sensor in the wheel: a plain valve would leave it silent."
    return None


def _wrong_band(case: _Case, part: Candidate) -> str | None:
    if part.kind not in WITH_RADIO or not case.band or case.band in part.bands:
        return None
    heard = " or ".join(Band(band).label for band in sorted(part.bands)) or "a band not recorded"
    return f"Sends on {heard}; this vehicle listens on {Band(case.band).label}."


def _wrong_hole(case: _Case, part: Candidate) -> str | None:
    if part.kind not in THROUGH_THE_RIM or not (part.hole and case.hole):
        return None
    if part.hole == case.hole:
        return None
    return f"For the hole {Hole(part.hole).label}; this wheel has {Hole(case.hole).label}."


def _one_piece(case: _Case, part: Candidate) -> str | None:
    one_piece = case.construction == Construction.ONE_PIECE
    if one_piece and part.kind in SOLD_APART_ONLY_OF_TWO_PIECE:
        return "The sensor is one piece: body and stem are replaced together."
    return None


def _over_rating(case: _Case, part: Candidate) -> str | None:
    pressure = case.pressure_kpa(part.axle)
    if part.mounting != Mounting.SNAP_IN or pressure is None:
        return None
    rated = part.rated_pressure_kpa or STANDARD_RATING_KPA
    if rated >= pressure:
        return None
    assumed = "" if part.rated_pressure_kpa else ", the usual limit where none is recorded"
    return (
        f"Snap-in rated {case.pressure(rated)}{assumed}; this wheel is set to "
        f"{case.pressure(pressure)}."
    )


def _over_speed(case: _Case, part: Candidate) -> bool:
    return (
        part.mounting == Mounting.SNAP_IN and (case.need.top_speed_kmh or 0) > SNAP_IN_TOP_SPEED_KMH
    )


def _warnings(case: _Case, part: Candidate) -> Iterable[str]:
    if _over_speed(case, part):
        yield "Above 210 km/h (130 mph) clamp-in valves are recommended."
    if part.mounting == Mounting.SNAP_IN and case.pressure_kpa(part.axle) is None:
        rated = part.rated_pressure_kpa or STANDARD_RATING_KPA
        yield f"Placard not known: not above {case.pressure(rated)}."
    if part.kind in WITH_RADIO and not case.band:
        yield "Band not known: trigger a sensor of this vehicle first."
    if part.kind == PartKind.BODY and case.construction == Construction.UNKNOWN:
        yield "Look first: a body alone fits only a two-piece sensor."
    if part.contradicted:
        jobs = "1 job" if part.contradicted == 1 else f"{part.contradicted} jobs"
        yield f"Did not fit on {jobs}."


def _order(case: _Case, part: Candidate) -> tuple[object, ...]:
    return (
        _over_speed(case, part),
        part.rank,
        part.here < part.quantity,
        part.elsewhere < part.quantity,
        part.arriving < part.quantity,
        part.contradicted - part.confirmed,
        -(part.margin_cents or 0),
        part.number,
        part.axle,
    )
