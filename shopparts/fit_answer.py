"""The answer of the fit page: which parts, in which order, from which shelf, and why not others."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from inventory.catalog.fit import Candidate, Excluded, Findings, Offer, Offered, offer
from inventory.catalog.inputs import Possible, evidence_counts
from inventory.catalog.models import Application, Part, PartKind
from inventory.catalog.prices import customer_prices
from inventory.shop.amounts import pressure_text
from inventory.shop.models import ShopSettings, Site
from shopparts.fit_facts import Fact, facts, names, title
from shopparts.fit_supply import Supply, supply_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One offered part with what a technician needs to fetch and fit it."""

    offered: Offered
    part: Part
    supply: Supply
    price_cents: int | None
    together: tuple["Piece", ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """A part of an assembly that can be taken from the shelf on its own."""

    part: Part
    here: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Role:
    kind: PartKind
    lines: tuple[Line, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    title: str
    names: tuple[str, ...]
    applications: tuple[Application, ...]
    roles: tuple[Role, ...]
    excluded: tuple[Excluded, ...]
    facts: tuple[Fact, ...]

    @property
    def first(self) -> Application:
        return self.applications[0]

    @property
    def drafts(self) -> tuple[Application, ...]:
        """Those of them that nobody has checked yet."""
        return tuple(application for application in self.applications if application.is_draft)


def answer_for(
    possible: Sequence[Possible], *, findings: Findings, site: Site, shop: ShopSettings
) -> Answer:
    """The answer for applications that take the same parts."""
    first = possible[0]
    applications = tuple(p.application for p in possible)
    listed = Part.objects.filter(pk__in={part.pk for part in first.candidates})
    parts = {part.pk: part for part in listed.prefetch_related("pieces__piece")}
    pieces = {made.piece_id for part in parts.values() for made in part.pieces.all()}
    supply = supply_of(parts.keys() | pieces, site)
    prices = customer_prices(parts.values(), on=site.today())
    evidence = evidence_counts(applications)
    candidates = [_as_of_today(part, supply, evidence) for part in first.candidates]
    result = offer(
        first.need,
        candidates,
        findings=findings,
        say_pressure=lambda kpa: pressure_text(kpa, shop),
    )
    return Answer(
        title=title(applications),
        names=tuple(names(applications)),
        applications=applications,
        roles=tuple(_roles(result, parts, supply, prices)),
        excluded=result.excluded,
        facts=tuple(facts(applications, shop)),
    )


def _as_of_today(
    part: Candidate, supply: dict[int, Supply], evidence: dict[int, tuple[int, int]]
) -> Candidate:
    now = supply.get(part.pk, Supply())
    confirmed, contradicted = evidence.get(part.pk, (0, 0))
    return replace(
        part,
        here=now.here,
        elsewhere=now.elsewhere,
        arriving=now.arriving,
        confirmed=confirmed,
        contradicted=contradicted,
    )


def _roles(
    result: Offer,
    parts: dict[int, Part],
    supply: dict[int, Supply],
    prices: dict[int, int | None],
) -> Iterable[Role]:
    for kind, offered in result.by_role():
        lines = (
            Line(
                offered=chosen,
                part=parts[chosen.part.pk],
                supply=supply.get(chosen.part.pk, Supply()),
                price_cents=prices[chosen.part.pk],
                together=tuple(_pieces(parts[chosen.part.pk], supply)),
            )
            for chosen in offered
        )
        yield Role(kind=kind, lines=tuple(lines))


def _pieces(part: Part, supply: dict[int, Supply]) -> Iterable[Piece]:
    if part.kind != PartKind.ASSEMBLY:
        return
    for made in part.pieces.all():
        if made.piece.kind in (PartKind.BODY, PartKind.STEM):
            yield Piece(part=made.piece, here=supply.get(made.piece_id, Supply()).here)
