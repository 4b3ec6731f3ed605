"""Catalogue records turned into what the fit rules and the separating question work on."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Count, Q

from inventory.catalog.fit import Candidate, Findings, Need, Offer, offer
from inventory.catalog.models import (
    Application,
    Evidence,
    EvidenceKind,
    Fitment,
    MadeOf,
    Mounting,
    Part,
    Supersession,
)
from inventory.catalog.question import Entry
from inventory.catalog.spans import month_after

PLAIN_TRAITS = ("wheel", "trim", "mounting", "band", "system")
BUILT = "built "
SUPERSESSION_ROUNDS = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class Possible:
    """One application still possible, with the parts its fitments and supersessions propose."""

    application: Application
    need: Need
    candidates: tuple[Candidate, ...]

    def offer(self, findings: Findings | None = None) -> Offer:
        return offer(self.need, self.candidates, findings=findings)


def need_of(application: Application) -> Need:
    return Need(
        direct=application.is_direct,
        band=application.band,
        mounting=application.mounting,
        hole=application.hole,
        construction=application.construction,
        placard_front_kpa=application.placard_front_kpa,
        placard_rear_kpa=application.placard_rear_kpa,
        placard_spare_kpa=application.placard_spare_kpa,
        spare_has_sensor=application.spare_has_sensor,
        top_speed_kmh=application.top_speed_kmh,
    )


_PLACE = ("axle", "rank", "quantity", "prepared_as")


def _facts(part: Part) -> dict[str, Any]:
    """What is the same wherever the part is fitted."""
    return {
        "pk": part.pk,
        "number": part.number,
        "kind": part.kind,
        "bands": frozenset(part.bands),
        "mounting": part.mounting,
        "hole": part.hole,
        "rated_pressure_kpa": part.rated_pressure_kpa,
    }


def possible_fits(applications: Sequence[Application]) -> list[Possible]:
    """Each application with its candidates, in as many queries for one as for hundreds."""
    # Plain rows: a model without a year has hundreds of fitments, each read for one comparison.
    rows = list(
        Fitment.objects.filter(application__in=[application.pk for application in applications])
        .order_by("rank", "part_id")
        .values_list("application_id", "part_id", *_PLACE)
    )
    named = {part for _, part, *_ in rows}
    links = _replacements(named)
    parts = Part.objects.filter(pk__in=named | links.reached)
    facts = _within_stems({part.pk: _facts(part) for part in parts})
    proposed: dict[int, list[Candidate]] = defaultdict(list)
    for application, part, *values in rows:
        own, place = facts[part], dict(zip(_PLACE, values, strict=True))
        proposed[application].append(Candidate(**own, **place))
        proposed[application] += [
            Candidate(**facts[pk], **place, replaces=own["number"]) for pk in links.of(part)
        ]
    return [
        Possible(
            application=application,
            need=need_of(application),
            candidates=tuple(_once(proposed[application.pk])),
        )
        for application in applications
    ]


def _once(candidates: Iterable[Candidate]) -> Iterable[Candidate]:
    """A part the fitments name themselves is not repeated as a replacement of another."""
    seen = set()
    for part in sorted(candidates, key=lambda part: part.replaces != ""):
        if (part.pk, part.axle) not in seen:
            seen.add((part.pk, part.axle))
            yield part


@dataclass(frozen=True, slots=True)
class _Replacements:
    """Which part may stand for which, a step at a time."""

    links: dict[int, set[int]]
    reached: set[int]

    def of(self, part_id: int) -> list[int]:
        """All parts that replace this one, directly or through others."""
        if part_id not in self.links:
            return []
        reached: set[int] = set()
        edge = {part_id}
        while edge := {new for old in edge for new in self.links.get(old, ())} - reached:
            reached |= edge
        return sorted(reached - {part_id})


def _replacements(part_ids: set[int]) -> _Replacements:
    links: dict[int, set[int]] = defaultdict(set)
    known, edge = set(part_ids), set(part_ids)
    for _ in range(SUPERSESSION_ROUNDS):
        steps = _steps_from(edge)
        for old, new in steps:
            links[old].add(new)
        edge = {new for _, new in steps} - known
        if not edge:
            break
        known |= edge
    return _Replacements(dict(links), known)


def _steps_from(part_ids: set[int]) -> list[tuple[int, int]]:
    unordered = Supersession.objects.order_by()
    forth = unordered.filter(old__in=part_ids).values_list("old_id", "new_id")
    back = unordered.filter(new__in=part_ids, both_ways=True).values_list("new_id", "old_id")
    return list(forth.union(back))


def _within_stems(facts: dict[int, dict[str, Any]]) -> dict[int, dict[str, Any]]:
    """An assembly on a snap-in stem holds no more than that stem does."""
    rows = MadeOf.objects.filter(
        whole__in=facts,
        piece__mounting=Mounting.SNAP_IN,
        piece__rated_pressure_kpa__isnull=False,
    ).values_list("whole", "piece__rated_pressure_kpa")
    for whole, rated in rows:
        assert rated is not None
        own: int = facts[whole]["rated_pressure_kpa"] or rated
        facts[whole] |= {"mounting": Mounting.SNAP_IN, "rated_pressure_kpa": min(own, rated)}
    return facts


def entries(
    possible: Sequence[Possible], *, findings: Findings | None = None, ask_year: bool = False
) -> list[Entry]:
    months = built_months(p.application for p in possible)
    return [
        Entry(
            pk=p.application.pk,
            traits=traits_of(p.application, months, ask_year=ask_year),
            answer=(p.application.system, p.offer(findings).answer),
        )
        for p in possible
    ]


def traits_to_ask(possible: Sequence[Possible], *, ask_year: bool) -> list[str]:
    """What may be asked, easiest first."""
    months = built_months(p.application for p in possible)
    built = [f"{BUILT}{month:%Y-%m}" for month in months]
    return (["year"] if ask_year else []) + built + list(PLAIN_TRAITS)


def built_months(applications: Iterable[Application]) -> list[date]:
    """The months at which what fits may change: each first month of a span of building."""
    months = set()
    for application in applications:
        if application.built_from:
            months.add(application.built_from.replace(day=1))
        if application.built_to:
            months.add(month_after(application.built_to))
    return sorted(months)


def traits_of(
    application: Application, months: Iterable[date], *, ask_year: bool = False
) -> dict[str, frozenset[str]]:
    traits = {name: frozenset({getattr(application, name)} - {""}) for name in PLAIN_TRAITS}
    for month in months:
        traits[f"{BUILT}{month:%Y-%m}"] = frozenset(_sides(application, month))
    if ask_year:
        years = range(application.year_from, application.year_to + 1)
        traits["year"] = frozenset(map(str, years))
    return {name: choices for name, choices in traits.items() if choices}


def _sides(application: Application, month: date) -> Iterable[str]:
    """On which sides of a month this application was built."""
    if not application.built_from or application.built_from < month:
        yield "before"
    if not application.built_to or application.built_to >= month:
        yield "from"


def evidence_counts(applications: Iterable[Application]) -> dict[int, tuple[int, int]]:
    """Per part: on how many jobs it was fitted and answered, and on how many it did not fit.

    What did not fit and was decided by the parts manager warns no more.
    """
    rows = Evidence.objects.filter(application__in=applications).order_by().values_list("part")
    counts = rows.annotate(
        confirmed=Count("pk", filter=Q(kind=EvidenceKind.CONFIRMED)),
        contradicted=Count("pk", filter=Q(kind=EvidenceKind.CONTRADICTED, settled=False)),
    )
    return {part: (confirmed, contradicted) for part, confirmed, contradicted in counts}
