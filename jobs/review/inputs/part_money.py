"""Parts with what they sell for and what they cost: on the shelf now, and as last offered."""

from collections.abc import Iterable
from datetime import date
from typing import NamedTuple

from django.db.models import Exists, OuterRef, Sum

from inventory.catalog.models import Part, PartKind
from inventory.catalog.prices import customer_prices
from inventory.ledger.models import Lot, Shelf
from inventory.reorder.models import Offer
from jobs.costing.cents import net_of_tax, with_tax
from jobs.costing.prices import price_at_margin
from jobs.costing.ratios import share
from jobs.review.inputs.unserved import usual_costs


class PartMoney(NamedTuple):
    """Cents a piece; None where not known. Prices as the shop enters them, with tax or without.

    net : the price without tax, on which margins are reckoned
    cost : mean of what lies on the shelves, else of all that was ever bought
    offered : the cheapest offer that is valid, at its least quantity
    wanted : the lowest price that earns the margin aimed at, on the offer, else on the cost
    """

    part: int
    number: str
    words: str
    kind: str
    price: int | None
    net: int | None
    cost: int | None
    offered: int | None
    wanted: int | None

    @property
    def margin(self) -> float | None:
        return _margin(self.net, self.cost)

    @property
    def margin_offered(self) -> float | None:
        return _margin(self.net, self.offered)

    @property
    def change(self) -> int | None:
        """What the price would move by to earn the margin aimed at."""
        return None if self.price is None or self.wanted is None else self.wanted - self.price


def _margin(price: int | None, cost: int | None) -> float | None:
    return None if price is None or cost is None else share(price - cost, price)


def part_money(
    *, on: date, margin_percent: int, kind: str = "", tax_per_mille: int = 0
) -> list[PartMoney]:
    """Every part with a shelf or a valid offer, in a constant number of queries."""
    offered = Offer.objects.valid_on(on).filter(part=OuterRef("pk"))
    kept = Shelf.objects.filter(part=OuterRef("pk"))
    parts = Part.objects.filter(Exists(offered) | Exists(kept)).order_by("kind", "number")
    if kind:
        parts = parts.filter(kind=kind)
    listed = list(parts)
    prices = customer_prices(listed, on=on)
    bought = {part: round(cost) for part, cost in usual_costs(prices).items()}
    costs, offers = bought | costs_on_the_shelf(), cheapest_offers(on)
    return [
        PartMoney(
            part=part.pk,
            number=part.number,
            words=part.words,
            kind=PartKind(part.kind).label,
            price=prices[part.pk],
            net=_net(prices[part.pk], tax_per_mille),
            cost=costs.get(part.pk),
            offered=offers.get(part.pk),
            wanted=_wanted(offers.get(part.pk, costs.get(part.pk)), margin_percent, tax_per_mille),
        )
        for part in listed
    ]


def _net(price: int | None, tax_per_mille: int) -> int | None:
    return None if price is None else net_of_tax(price, tax_per_mille)


def _wanted(cost: int | None, margin_percent: int, tax_per_mille: int) -> int | None:
    if cost is None:
        return None
    return with_tax(price_at_margin(cost, margin_percent=margin_percent), tax_per_mille)


def costs_on_the_shelf() -> dict[int, int]:
    """Mean cents a piece of what lies there, by part; what came in for nothing left out."""
    lots = Lot.objects.left().filter(cents_left__gt=0).order_by().values_list("shelf__part")
    sums = lots.annotate(cents=Sum("cents_left"), pieces=Sum("pieces_left"))
    return {part: round(cents / pieces) for part, cents, pieces in sums}


def cheapest_offers(on: date) -> dict[int, int]:
    """Cents a piece by part, to the nearest cent."""
    found: dict[int, float] = {}
    for part, cents in _offered(Offer.objects.valid_on(on).with_breaks()):
        found[part] = min(cents, found.get(part, cents))
    return {part: round(cents) for part, cents in found.items()}


def _offered(offers: Iterable[Offer]) -> Iterable[tuple[int, float]]:
    for offer in offers:
        yield offer.part_id, offer.price_of(offer.minimum_packs) / offer.pack
