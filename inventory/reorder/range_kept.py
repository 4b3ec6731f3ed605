"""Which sensors to keep so that a share of the vehicles seen here is covered, and what could go.

A vehicle is covered when, front and rear, at least one kept sensor fits it: an assembly, or a body
for its own stem.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from django.db.models import Sum

from inventory.catalog.models import Application, Axle, Fitment, Part, PartKind
from inventory.ledger.models import Lot, Shelf
from inventory.planning.range_cover import RangeCover, smallest_range
from inventory.reorder.inputs.superseded import read_superseded
from inventory.reorder.models import Offer
from inventory.shop.models import Site

SENSORS = (PartKind.ASSEMBLY, PartKind.BODY)
ENDS = {Axle.ALL: (0, 1), Axle.FRONT: (0,), Axle.REAR: (1,)}
SECONDS = 3.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Ranged:
    """One sensor: how many vehicles it fits, what lies of it, and what that cost."""

    part: Part
    vehicles: int
    on_hand: int
    value_cents: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Uncovered:
    application: Application
    vehicles: int


@dataclass(frozen=True, slots=True, kw_only=True)
class RangeKept:
    """`most_share` is what all sensors that can be bought or lie here cover together."""

    share: float
    most_share: float
    kept: list[Ranged]
    going: list[Ranged]
    uncovered: list[Uncovered]
    proven: bool

    @property
    def freed_cents(self) -> int:
        return sum(one.value_cents for one in self.going)

    @property
    def to_buy(self) -> int:
        return sum(one.on_hand == 0 for one in self.kept)


def range_kept(
    vehicles: Mapping[int, int], *, share: float, site: Site, today: date
) -> RangeKept | None:
    """`vehicles` by application. None where no vehicle was seen or no sensor fits one."""
    targets = {application: 2 * row for row, application in enumerate(vehicles)}
    fits = _fits(targets, site, today)
    weights = [count for count in vehicles.values() for _ in (0, 1)]
    reached = {target for covered in fits.values() for target in covered}
    whole, most = sum(weights), sum(weights[target] for target in reached)
    if not most:
        return None
    most_share = most / whole
    names = {str(part): covered for part, covered in fits.items()}
    found = smallest_range(weights, names, share=min(share, most_share), seconds=SECONDS)
    return _told(found, fits, vehicles, targets, site, most_share)


def _fits(targets: Mapping[int, int], site: Site, today: date) -> dict[int, list[int]]:
    """By part that lies here or can be bought, the ends of vehicles it fits."""
    gone = set(read_superseded(today).newest)
    bought = set(Offer.objects.valid_on(today).values_list("part_id", flat=True))
    here = set(Shelf.objects.at(site).stocked().values_list("part_id", flat=True))
    listed = Fitment.objects.filter(
        application__in=list(targets), part__kind__in=SENSORS, axle__in=list(ENDS)
    )
    fits: dict[int, set[int]] = {}
    for part, application, axle in listed.values_list("part_id", "application_id", "axle"):
        if (part in bought and part not in gone) or part in here:
            ends = ENDS[Axle(axle)]
            fits.setdefault(part, set()).update(targets[application] + end for end in ends)
    return {part: sorted(covered) for part, covered in sorted(fits.items())}


def _told(
    found: RangeCover,
    fits: Mapping[int, list[int]],
    vehicles: Mapping[int, int],
    targets: Mapping[int, int],
    site: Site,
    most_share: float,
) -> RangeKept:
    kept = {int(name) for name in found.parts}
    covered = {target for part in kept for target in fits[part]}
    ranged = list(_ranged(fits, vehicles, targets, site))
    applications = Application.objects.in_bulk(list(vehicles))
    bare = [
        Uncovered(application=applications[application], vehicles=count)
        for application, count in vehicles.items()
        if not {targets[application], targets[application] + 1} <= covered
    ]
    return RangeKept(
        share=found.covered_weight / found.whole_weight,
        most_share=most_share,
        kept=sorted((one for one in ranged if one.part.pk in kept), key=lambda one: -one.vehicles),
        going=sorted(
            (one for one in ranged if one.part.pk not in kept and one.on_hand),
            key=lambda one: -one.value_cents,
        ),
        uncovered=sorted(bare, key=lambda one: -one.vehicles),
        proven=found.proven,
    )


def _ranged(
    fits: Mapping[int, list[int]],
    vehicles: Mapping[int, int],
    targets: Mapping[int, int],
    site: Site,
) -> Iterator[Ranged]:
    application_of = {target: application for application, target in targets.items()}
    lots = Lot.objects.left().filter(shelf__site=site, shelf__part__in=list(fits)).order_by()
    lying = {
        part: (pieces, cents)
        for part, pieces, cents in lots.values_list("shelf__part_id").annotate(
            pieces=Sum("pieces_left"), cents=Sum("cents_left")
        )
    }
    for pk, part in Part.objects.in_bulk(list(fits)).items():
        fitting = {application_of[target - target % 2] for target in fits[pk]}
        pieces, cents = lying.get(pk, (0, 0))
        yield Ranged(
            part=part,
            vehicles=sum(vehicles[application] for application in fitting),
            on_hand=pieces,
            value_cents=cents,
        )
