"""Lots watched: parts of one printed code against their family, and the vehicles they went to.

A lot is a part with the code printed on it; where nobody wrote the code, the ledger's own lot.
Reads and reckons; no cost.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import NamedTuple

from django.db.models import Q, QuerySet

from inventory.catalog.models import Part
from inventory.ledger.models import Lot
from jobs.replacement.lots import (
    FALSE_ALARMS_PER_LOT,
    LotWatch,
    expected_false_alarms,
    fewest_failures_for_alarm,
    lot_watch,
)
from jobs.replacement.priors import Prior
from jobs.review.inputs.laws import as_lives, shop_laws, shop_priors
from jobs.workshop.lives import Event, Family, LifeRecord, lives_by_family
from jobs.workshop.models import Fitted, PieceKind

FAILING_SHOWN = 25


class Batch(NamedTuple):
    """Which pieces belong together: a part, the code of its lot, and what piece of it."""

    part: int
    code: str
    kind: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LotSeen:
    """One lot as it stands; no watch where it has too few failures to alarm whatever they say."""

    batch: Batch
    part: Part
    fitted: int
    failed: int
    watch: LotWatch | None

    @property
    def alarm(self) -> bool:
        return self.watch is not None and self.watch.alarm

    @property
    def piece(self) -> str:
        return PieceKind(self.batch.kind).label

    @property
    def times_likelier(self) -> int | None:
        """How many times likelier its record is if it is bad; "more than" beyond a million."""
        return None if self.watch is None else round(min(self.watch.evidence, 1e6))


@dataclass(frozen=True, slots=True, kw_only=True)
class LotsSeen:
    lots: tuple[LotSeen, ...]

    @property
    def alarms(self) -> tuple[LotSeen, ...]:
        return tuple(one for one in self.lots if one.alarm)

    @property
    def failing(self) -> tuple[LotSeen, ...]:
        """Lots with a failure and no alarm, those that say most first; no more than one reads."""
        return tuple(one for one in self.lots if one.failed and not one.alarm)[:FAILING_SHOWN]

    @property
    def false_alarms(self) -> float:
        """The most to expect by chance over the whole life of all lots watched."""
        return expected_false_alarms(len(self.lots))

    @property
    def one_in(self) -> int:
        return round(1 / FALSE_ALARMS_PER_LOT)

    @property
    def fewest(self) -> int:
        return fewest_failures_for_alarm()


def lots_seen() -> LotsSeen:
    """Every lot with a record of its pieces, those that alarm first."""
    lives, priors = lives_by_family(), shop_priors()
    batches = batched(lives)
    parts = {part.pk: part for part in Part.objects.filter(pk__in={b.part for b in batches})}
    found = [
        LotSeen(
            batch=batch,
            part=parts[batch.part],
            fitted=len(records),
            failed=sum(1 for record in records if record.event != Event.ALIVE),
            watch=watched(records, lives, priors),
        )
        for batch, records in batches.items()
    ]
    found.sort(key=lambda one: (not one.alarm, -(one.times_likelier or 0), -one.failed, one.batch))
    return LotsSeen(lots=tuple(found))


def batched(lives: Mapping[Family, list[LifeRecord]]) -> dict[Batch, list[LifeRecord]]:
    records = [record for own in lives.values() for record in own if record.part is not None]
    lots = Lot.objects.filter(pk__in={record.lot for record in records if record.lot})
    codes = {pk: printed or key for pk, printed, key in lots.values_list("pk", "maker_code", "key")}
    batches: defaultdict[Batch, list[LifeRecord]] = defaultdict(list)
    for record in records:
        code = record.printed_code or codes.get(record.lot or 0, "")
        if code and record.part is not None:
            batches[Batch(record.part, code, record.family.kind)].append(record)
    return dict(batches)


def watched(
    records: list[LifeRecord],
    lives: Mapping[Family, list[LifeRecord]],
    priors: Mapping[str, Prior],
) -> LotWatch | None:
    """Held against its family's law from records that leave this lot out."""
    failed = sum(1 for record in records if record.event != Event.ALIVE)
    if failed < fewest_failures_for_alarm():
        return None
    own, family = {record.piece for record in records}, records[0].family
    rest = {
        key: [record for record in others if record.piece not in own] if key == family else others
        for key, others in lives.items()
    }
    laws = shop_laws(rest, priors)
    return lot_watch(as_lives(records), laws.draws(laws.family_of(*family)))


def pieces_of_lot(part: Part, code: str) -> QuerySet[Fitted]:
    """Every piece of a lot wherever it went, those still driving first."""
    coded = Q(printed_code=code) | Q(printed_code="", lot__maker_code=code) | Q(lot__key=code)
    rows = Fitted.objects.filter(coded, part=part).select_related(
        "wheel__vehicle__application",
        "wheel__vehicle__account",
        "wheel__vehicle__keeper",
        "by_job",
        "ended_by_job",
    )
    return rows.order_by("-ended_on", "since", "pk")


@dataclass(frozen=True, slots=True, kw_only=True)
class LotCars:
    """The vehicles of one lot, by what became of its pieces."""

    driving: tuple[Fitted, ...]
    ended: tuple[Fitted, ...]

    @property
    def vehicles(self) -> int:
        return len({piece.wheel.vehicle_id for piece in self.driving})


def lot_cars(pieces: Iterable[Fitted], kind: str) -> LotCars:
    own = [piece for piece in pieces if piece.kind == kind]
    return LotCars(
        driving=tuple(piece for piece in own if piece.ended_on is None),
        ended=tuple(piece for piece in own if piece.ended_on is not None),
    )
