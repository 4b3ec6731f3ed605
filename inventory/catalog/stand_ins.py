"""Which universal parts may stand in for which specific ones, and where a replacement reaches.

By entry: both are listed for the same wheels of the same vehicle, on a band it hears. Whether a
universal part is programmed as that vehicle is a matter of preparation.
"""

from dataclasses import dataclass

from django.db.models import Count, F, Q, QuerySet

from inventory.catalog.models import Application, Band, Fitment, Part, PartKind

WITH_RADIO = (PartKind.ASSEMBLY, PartKind.BODY)


@dataclass(frozen=True, slots=True, kw_only=True)
class StandIn:
    """Another part, and on how many entries it and this one are both listed."""

    part: Part
    entries: int


def stand_ins(part: Part) -> list[StandIn]:
    """Of a universal part the specific ones it stands in for; of a specific one the universals."""
    others = Part.objects.filter(
        kind=part.kind,
        universal=not part.universal,
        fitments__application__fitments__part=part,
        fitments__application__fitments__axle=F("fitments__axle"),
        **_heard(part),
    )
    counted = others.order_by().values_list("pk")
    entries = dict(counted.annotate(entries=Count("fitments__application", distinct=True)))
    found = Part.objects.in_bulk(entries).values()
    listed = [StandIn(part=other, entries=entries[other.pk]) for other in found]
    return sorted(listed, key=lambda one: (-one.entries, one.part.number))


def _heard(part: Part) -> dict[str, list[str]]:
    if part.kind not in WITH_RADIO:
        return {}
    return {"fitments__application__band__in": ["", *part.bands]}


def reached_instead(part: Part) -> QuerySet[Application]:
    """Entries that list a part this one replaces, and not this one itself."""
    replaced = Part.objects.filter(superseded_by__new=part) | Part.objects.filter(
        supersedes__old=part, supersedes__both_ways=True
    )
    listed = Application.objects.filter(fitments__part__in=replaced)
    return listed.exclude(fitments__part=part).distinct()


def stand_in_pairs() -> list[tuple[int, int, int]]:
    """(specific part, universal part, entries that list both for the same wheels), of all parts."""
    other = "application__fitments__part__"
    heard = ~Q(part__kind__in=WITH_RADIO) | Q(application__band="")
    for band in Band:
        heard |= Q(application__band=band, **{f"{other}band_{band.value}": True})
    shared = Fitment.objects.filter(
        heard,
        part__universal=False,
        application__fitments__axle=F("axle"),
        **{f"{other}universal": True, f"{other}kind": F("part__kind")},
    )
    pairs = shared.order_by().values_list("part_id", "application__fitments__part_id")
    return list(pairs.annotate(entries=Count("application", distinct=True)))
