"""What a van should carry, what is in it now, and which shop can fill it up.

The par of a part is as many as the plan keeps in the van after an order: its reorder point and one
order quantity. All else is read as it stands at this moment, so that what was sent an hour ago is
not sent again. Sending is `actions.vans`.
"""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from django.db.models import F, Sum

from inventory.ledger.models import Lot, Shelf, Transfer
from inventory.reorder.models import OrderLine, PlanLine, PlanRun
from inventory.shop.models import Site, SiteKind

PartSite = tuple[int, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class FillUp:
    """Pieces of one part that one shop can put on the road, and the bins they lie in there."""

    part_id: int
    source: Site
    pieces: int
    bins: str
    leaves: int

    @property
    def word(self) -> str:
        """How a form names it."""
        return f"{self.part_id}-{self.source.pk}-{self.pieces}"


@dataclass(frozen=True, slots=True, kw_only=True)
class ParLine:
    """`here` are pieces nobody was promised, `coming` those on the road or on an order."""

    line: PlanLine
    bins: str
    here: int
    coming: int
    missing: int
    fill_ups: tuple[FillUp, ...]

    @property
    def par(self) -> int:
        return self.line.most_kept

    @property
    def short(self) -> int:
        """What no shop has."""
        return self.missing - sum(each.pieces for each in self.fill_ups)


@dataclass(frozen=True, slots=True, kw_only=True)
class ParList:
    run: PlanRun | None
    lines: Sequence[ParLine]

    @property
    def to_fill(self) -> int:
        return sum(line.missing > 0 for line in self.lines)

    @property
    def can_send(self) -> bool:
        return any(line.fill_ups for line in self.lines)

    @property
    def short_count(self) -> int:
        return sum(line.short > 0 for line in self.lines)


@dataclass(frozen=True, slots=True, kw_only=True)
class Now:
    """What the shelves hold: pieces free and bins by part and site, pieces coming by part.

    `spare` is what a site had beyond its own needs when the plan was made.
    """

    van: Site
    shops: Sequence[Site]
    free: dict[PartSite, int]
    spare: dict[PartSite, int]
    bins: dict[PartSite, str]
    coming: dict[int, int]


def par_list(van: Site) -> ParList:
    """Every part that the plan keeps in a van, in the order of its bins there."""
    run = PlanRun.objects.finished().first()
    kept = list(PlanLine.objects.kept_at(run, van)) if run else []
    parts = [line.part_id for line in kept]
    elsewhere = PlanLine.objects.elsewhere(run, van, parts) if run else []
    spare = {(line.part_id, line.site_id): line.spare for line in elsewhere}
    now = read_now(van, parts, spare)
    lines = [par_line(line, now) for line in kept]
    return ParList(
        run=run,
        lines=sorted(lines, key=lambda one: (not one.bins, one.bins, one.line.part.number)),
    )


def par_line(line: PlanLine, now: Now) -> ParLine:
    at = line.part_id, now.van.pk
    here, coming = now.free.get(at, 0), now.coming.get(line.part_id, 0)
    missing = max(0, line.most_kept - here - line.older - coming)
    return ParLine(
        line=line,
        bins=now.bins.get(at, ""),
        here=here,
        coming=coming,
        missing=missing,
        fill_ups=tuple(fill_ups(line.part_id, missing, now)),
    )


def fill_ups(part_id: int, missing: int, now: Now) -> Iterator[FillUp]:
    """From what a shop can spare first; then it gives what it has, for it can buy more."""
    there = {shop: (part_id, shop.pk) for shop in now.shops}
    richest = sorted(
        there, key=lambda shop: (-now.spare.get(there[shop], 0), -now.free.get(there[shop], 0))
    )
    for shop in richest:
        free, bins = now.free.get(there[shop], 0), now.bins.get(there[shop], "")
        pieces = min(missing, free)
        if pieces > 0:
            yield FillUp(
                part_id=part_id, source=shop, pieces=pieces, bins=bins, leaves=free - pieces
            )
            missing -= pieces


def read_now(van: Site, parts: list[int], spare: dict[PartSite, int]) -> Now:
    shops = [site for site in Site.objects.selling() if site.kind == SiteKind.SHOP]
    sites = [van.pk, *(shop.pk for shop in shops)]
    shelves = Shelf.objects.filter(part__in=parts, site__in=sites).with_available()
    return Now(
        van=van,
        shops=shops,
        free={(shelf.part_id, shelf.site_id): shelf.free for shelf in shelves},
        spare=spare,
        bins=bins_of(parts, sites),
        coming=coming_to(van, parts),
    )


def bins_of(parts: list[int], sites: list[int]) -> dict[PartSite, str]:
    """Where what can be taken lies; not where failed ones wait to be claimed."""
    lots = Lot.objects.usable().filter(shelf__part__in=parts, shelf__site__in=sites)
    found: dict[PartSite, list[str]] = defaultdict(list)
    rows = lots.exclude(bin=None).order_by("bin__code")
    for part, site, code in rows.values_list("shelf__part_id", "shelf__site_id", "bin__code"):
        if code not in found[part, site]:
            found[part, site].append(code)
    return {at: ", ".join(codes) for at, codes in found.items()}


def coming_to(van: Site, parts: list[int]) -> dict[int, int]:
    """Pieces on the road, and on orders that are for the van's own shelf."""
    found: dict[int, int] = defaultdict(int)
    road = Transfer.objects.on_the_road().filter(to_site=van, part__in=parts).order_by()
    open_pieces = F("packs") * F("pack") - F("pieces_delivered") - F("pieces_withdrawn")
    ordered = OrderLine.objects.coming().filter(order__site=van, part__in=parts, job_key="")
    for rows in (
        road.values_list("part_id").annotate(sum=Sum("pieces")),
        ordered.order_by().values_list("part_id").annotate(sum=Sum(open_pieces)),
    ):
        for part, pieces in rows:
            found[part] += pieces
    return found
