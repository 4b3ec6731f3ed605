"""Which part the failure of a sensor or a stem led to, vehicle by vehicle kind, and how often.

A vehicle kind that was rarely here leans on the catalogue's preference.
"""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Count

from inventory.catalog.models import Fitment, PartKind
from inventory.ledger.models import Ask
from jobs.review.inputs.in_use import Seen
from jobs.workshop.models import Job, JobLine, WheelAction

# How many uses the catalogue's preference counts for, and what each lower rank is worth beside
# the one above it: chosen on the demo shop's years before its last one.
RANKED_AS_USES = 1.0
LOWER_RANK = 0.3
SENSORS = (PartKind.ASSEMBLY, PartKind.BODY)
ACTIONS = {
    WheelAction.ASSEMBLY: PartKind.ASSEMBLY,
    WheelAction.BODY: PartKind.BODY,
    WheelAction.STEM: PartKind.STEM,
}

Failing = tuple[int, bool]
"""An application, and whether the sensor failed or else the stem alone."""


def part_shares(as_of: date) -> dict[Failing, dict[int, float]]:
    """By application and what failed, the chance of each part that may be asked for."""
    weights: defaultdict[Failing, defaultdict[int, float]] = defaultdict(lambda: defaultdict(float))
    ranked = Fitment.objects.filter(part__kind__in=ACTIONS.values()).order_by()
    for application, part, kind, rank in ranked.values_list(
        "application_id", "part_id", "part__kind", "rank"
    ):
        weights[application, kind in SENSORS][part] += LOWER_RANK ** (rank - 1)
    for of_failing in weights.values():
        whole = sum(of_failing.values())
        for part in of_failing:
            of_failing[part] *= RANKED_AS_USES / whole
    for application, action, part, uses in _uses(as_of):
        weights[application, action != WheelAction.STEM][part] += uses
    return {failing: _shares(parts) for failing, parts in weights.items()}


def _shares(weights: Mapping[int, float]) -> dict[int, float]:
    whole = sum(weights.values())
    return {part: weight / whole for part, weight in weights.items()}


def _uses(as_of: date) -> list[tuple[int, str, int, int]]:
    lines = JobLine.objects.filter(
        job__opened_at__date__lte=as_of, part__kind__in=ACTIONS.values(), action__in=ACTIONS
    ).exclude(job__vehicle__application=None)
    found = lines.order_by().values_list("job__vehicle__application_id", "action", "part_id")
    return [
        (application, action, part, uses)
        for application, action, part, uses in found.annotate(uses=Count("pk"))
        if application is not None and part is not None
    ]


@dataclass(frozen=True, slots=True, kw_only=True)
class AsksOfAYear:
    """Asks for sensors (True) and for stems (False): all of them, and those of known vehicles."""

    whole: dict[bool, int]
    of_vehicle: dict[tuple[int, bool], int]


def asks_of_the_year(as_of: date, seen: Mapping[int, Seen]) -> AsksOfAYear:
    """What was asked for in the year up to a day, by the vehicles that were known before it."""
    asks = Ask.objects.filter(
        day__gt=as_of - timedelta(days=364),
        day__lte=as_of,
        wish=False,
        part__kind__in=ACTIONS.values(),
    ).exclude(part__kind=PartKind.STEM, part__mounting="snap_in")
    vehicle_of = dict(Job.objects.order_by().values_list("key", "vehicle_id"))
    whole = {True: 0, False: 0}
    of_vehicle: defaultdict[tuple[int, bool], int] = defaultdict(int)
    for job_key, kind in asks.order_by().values_list("job_key", "part__kind"):
        sensor, vehicle = kind in SENSORS, vehicle_of.get(job_key)
        whole[sensor] += 1
        if vehicle is not None and vehicle in seen:
            of_vehicle[vehicle, sensor] += 1
    return AsksOfAYear(whole=whole, of_vehicle=dict(of_vehicle))
