"""The parts that would be fitted to the wheels of a vehicle, with prices and, for some, costs."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from django.db.models import F, Q, Sum

from inventory.catalog.fit import Candidate, Findings, offer
from inventory.catalog.inputs import Possible, evidence_counts, possible_fits
from inventory.catalog.models import Application, Axle, Mounting, Part, PartKind
from inventory.catalog.prices import customer_prices
from inventory.ledger.models import Hold, Lot, Shelf
from inventory.shop.models import Site
from jobs.replacement.wheel import PartAmounts


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """A part for a wheel: what it costs the customer, what it cost us, how many are here."""

    part: Part
    quantity: int
    price_cents: int | None
    cost_cents: int | None
    here: int
    prepared_as: str
    warnings: tuple[str, ...]

    @property
    def whole_price(self) -> int | None:
        return None if self.price_cents is None else self.price_cents * self.quantity

    @property
    def whole_cost(self) -> int | None:
        return None if self.cost_cents is None else self.cost_cents * self.quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class WheelParts:
    """The first choice of each kind for one wheel; None where nothing fits."""

    assembly: Choice | None = None
    body: Choice | None = None
    stem: Choice | None = None
    kit: Choice | None = None
    plain_valve: Choice | None = None

    @property
    def assembly_has_kit(self) -> bool:
        if self.assembly is None:
            return False
        return any(made.piece.kind == PartKind.KIT for made in self.assembly.part.pieces.all())

    def for_action(self, action: str, *, snap_in: bool) -> tuple[Choice, ...]:
        """The parts to issue for an action; for a snap-in the rubber stem is itself the kit."""
        stem, kit = (self.stem or self.kit, None) if snap_in else (self.stem, self.kit)
        whole = self.assembly and (self.assembly, None if self.assembly_has_kit else kit)
        by_action: dict[str, tuple[Choice | None, ...]] = {
            "reseal": (stem if snap_in else kit,),
            "body": (self.body, kit),
            "stem": (stem, kit),
            "assembly": whole or (self.body, stem, kit),
            "plain_valve": (self.plain_valve,),
        }
        return self._present(*by_action.get(action, ()))

    @staticmethod
    def _present(*choices: Choice | None) -> tuple[Choice, ...]:
        return tuple(choice for choice in choices if choice is not None)

    def amounts(self, *, snap_in: bool, costs: bool = False) -> PartAmounts:
        """Cents by action, as prices or as costs; None where a part or its amount is missing."""

        def total(action: str, needed: Choice | None) -> int | None:
            if needed is None:
                return None
            chosen = self.for_action(action, snap_in=snap_in)
            return _sum(choice.whole_cost if costs else choice.whole_price for choice in chosen)

        rubber = self.stem or self.kit
        apart = self._present(self.body, rubber, None if snap_in else self.kit)
        both = self.body is not None and self.stem is not None
        return PartAmounts(
            reseal=total("reseal", rubber if snap_in else self.kit),
            body=total("body", self.body),
            stem=total("stem", rubber if snap_in else self.stem),
            assembly=total("assembly", self.assembly),
            body_and_stem=_sum(c.whole_cost if costs else c.whole_price for c in apart)
            if both
            else None,
        )


def _sum(amounts: Iterable[int | None]) -> int | None:
    known = list(amounts)
    return None if None in known else sum(cents or 0 for cents in known)


def wheel_parts(
    application: Application,
    axles: Iterable[str],
    *,
    site: Site,
    on: date,
    findings: Findings | None = None,
    with_costs: bool = False,
    job_key: str = "",
) -> dict[str, WheelParts]:
    """By axle, what the fit rules offer first of each kind; a constant number of queries.

    job_key : of the job that asks; what is promised to it is there for it
    """
    possible = possible_fits([application])[0]
    parts = {
        part.pk: part
        for part in Part.objects.filter(
            Q(pk__in={candidate.pk for candidate in possible.candidates})
            | Q(kind=PartKind.PLAIN_VALVE, hole=application.hole or None)
        ).prefetch_related("pieces__piece")
    }
    supply = shelf_pieces(parts, site, job_key=job_key)
    candidates = _today(possible, supply)
    prices = customer_prices(parts.values(), on=on)
    costs = last_costs(parts) if with_costs else {}

    def choice(candidate: Candidate, warnings: Sequence[str]) -> Choice:
        return Choice(
            part=parts[candidate.pk],
            quantity=candidate.quantity,
            price_cents=prices[candidate.pk],
            cost_cents=costs.get(candidate.pk),
            here=candidate.here,
            prepared_as=candidate.prepared_as,
            warnings=tuple(warnings),
        )

    set_kpa = (findings.pressure_set_kpa if findings else 0) or 0
    found = {}
    for axle in set(axles):
        of_axle = [c for c in candidates if c.axle in (Axle.ALL, axle)]
        first: dict[str, Choice] = {}
        for offered in offer(possible.need, of_axle, findings=findings).offered:
            first.setdefault(offered.part.kind, choice(offered.part, offered.warnings))
        found[axle] = WheelParts(
            assembly=first.get(PartKind.ASSEMBLY),
            body=first.get(PartKind.BODY),
            stem=first.get(PartKind.STEM),
            kit=first.get(PartKind.KIT),
            plain_valve=first.get(PartKind.PLAIN_VALVE)
            or plain_valve(
                (part for part in parts.values() if part.kind == PartKind.PLAIN_VALVE),
                pressure_kpa=max(application.placard_kpa(axle) or 0, set_kpa),
                prices=prices,
                supply=supply,
            ),
        )
    return found


def plain_valve(
    valves: Iterable[Part],
    *,
    pressure_kpa: int,
    prices: Mapping[int, int | None],
    supply: Mapping[int, tuple[int, int]],
) -> Choice | None:
    """The valve to put in a dead sensor's hole if the customer so decides: here first, then price.

    The fit rules never offer one where a sensor belongs; this one is offered to nobody else.
    """
    strong = [one for one in valves if one.rated_pressure_kpa and pressure_kpa > 0]
    strong = [one for one in strong if (one.rated_pressure_kpa or 0) >= pressure_kpa]
    by_use = sorted(
        strong, key=lambda one: (not supply.get(one.pk, (0, 0))[0], prices[one.pk] or 0, one.pk)
    )
    if not by_use:
        return None
    return Choice(
        part=by_use[0],
        quantity=1,
        price_cents=prices[by_use[0].pk],
        cost_cents=None,
        here=supply.get(by_use[0].pk, (0, 0))[0],
        prepared_as="",
        warnings=(),
    )


def _today(possible: Possible, supply: Mapping[int, tuple[int, int]]) -> list[Candidate]:
    evidence = evidence_counts([possible.application])
    return [
        replace(
            candidate,
            here=supply.get(candidate.pk, (0, 0))[0],
            elsewhere=supply.get(candidate.pk, (0, 0))[1],
            confirmed=evidence.get(candidate.pk, (0, 0))[0],
            contradicted=evidence.get(candidate.pk, (0, 0))[1],
        )
        for candidate in possible.candidates
    ]


def shelf_pieces(
    part_ids: Iterable[int], site: Site, *, job_key: str
) -> dict[int, tuple[int, int]]:
    """Pieces that a job may take now: here, what is promised to it too, and elsewhere."""
    parts = list(part_ids)
    promised = Hold.objects.standing().filter(job_key=job_key, shelf__site=site)
    found = {
        part: (pieces, 0)
        for part, pieces in promised.filter(shelf__part__in=parts)
        .order_by()
        .values_list("shelf__part")
        .annotate(Sum("pieces"))
    }
    shelves = Shelf.objects.filter(part__in=parts, usable__gt=F("held"))
    for shelf in shelves:
        here, elsewhere = found.get(shelf.part_id, (0, 0))
        if shelf.site_id == site.pk:
            here += shelf.available
        else:
            elsewhere += shelf.available
        found[shelf.part_id] = here, elsewhere
    return found


def last_costs(part_ids: Iterable[int]) -> dict[int, int]:
    """Cents a piece of each part cost when it last came; parts that never came are left out.

    What opened a lot and was undone did not come.
    """
    lots = Lot.objects.filter(
        shelf__part__in=list(part_ids),
        pieces_received__gt=0,
        cents_received__gt=0,
        movements__pieces__gt=0,
        movements__of=None,
        movements__posting__undone_by=None,
    ).order_by("received_on", "pk")
    rows = lots.values_list("shelf__part", "cents_received", "pieces_received")
    return {part: round(cents / pieces) for part, cents, pieces in rows}


def is_snap_in(application: Application) -> bool:
    return application.mounting == Mounting.SNAP_IN
