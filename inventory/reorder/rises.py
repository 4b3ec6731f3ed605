"""Prices that rise on a day to come: what is worth ordering before it, and why."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

import numpy as np

from inventory.planning.price_rise import buy_ahead
from inventory.reorder.models import Offer, PlanLine, PlanRun
from inventory.shop.models import ShopSettings, Site

DAYS_A_YEAR = 365
# Further ahead nobody knows the demand well enough to buy for it: an assumption.
MOST_YEARS = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Rise:
    """One part that its supplier sells for more from a day on; cents are of a piece.

    `after` is the cheapest offer of anybody on that day: of the same supplier, or of another.
    """

    offer: Offer
    line: PlanLine
    before: Offer
    after: Offer
    pieces: int
    days_worth: int
    saving_cents: int
    keeping_cents: int

    @property
    def rise_cents(self) -> int:
        return round(piece_cents(self.after) - piece_cents(self.before))

    @property
    def is_from_another(self) -> bool:
        return self.after.supplier_id != self.before.supplier_id

    @property
    def packs(self) -> int:
        return self.pieces // self.before.pack


def piece_cents(offer: Offer) -> float:
    return offer.pack_price_cents / offer.pack


def rises_ahead(site: Site, shop: ShopSettings) -> list[Rise]:
    """Parts the plan buys from a supplier who will ask more, most saved first."""
    run = PlanRun.objects.finished().first()
    if run is None:
        return []
    rising = _rising(site.today())
    lines = PlanLine.objects.filter(run=run, site=site, part__in={part for part, _ in rising})
    found = [
        (line, *rising[line.part_id, line.supplier_id])
        for line in lines.select_related("part", "supplier")
        if line.supplier_id is not None and (line.part_id, line.supplier_id) in rising
    ]
    rises = _rises(found, shop.holding_percent_per_year / 100) if found else []
    return sorted(rises, key=lambda rise: (-rise.saving_cents, rise.line.part.number))


def _rising(today: date) -> dict[tuple[int, int], tuple[Offer, Offer, Offer]]:
    """By part and supplier: its price, its next price, and the cheapest of anybody then.

    Only where a piece will cost more, whoever it is bought from.
    """
    later = Offer.objects.filter(valid_from__gt=today).values("part")
    by_part: dict[int, list[Offer]] = defaultdict(list)
    offers = Offer.objects.from_now_on(today).filter(part__in=later, pack_price_cents__gt=0)
    for offer in offers.select_related("supplier").order_by("valid_from", "pk"):
        by_part[offer.part_id].append(offer)
    found = {}
    for part, listed in by_part.items():
        for before in _holding(listed, today):
            own = [one for one in listed if one.supplier_id == before.supplier_id]
            later_own = next((one for one in own if one.valid_from > today), None)
            if later_own is None or piece_cents(later_own) <= piece_cents(before):
                continue
            after = min(_holding(listed, later_own.valid_from), key=piece_cents)
            if piece_cents(after) > piece_cents(before):
                found[part, before.supplier_id] = (before, later_own, after)
    return found


def _holding(offers: Iterable[Offer], day: date) -> list[Offer]:
    """The offer of each supplier that holds on a day: the one that began last."""
    held = {
        offer.supplier_id: offer
        for offer in offers
        if offer.valid_from <= day and (offer.valid_to is None or offer.valid_to >= day)
    }
    return list(held.values())


def _rises(found: list[tuple[PlanLine, Offer, Offer, Offer]], rate: float) -> list[Rise]:
    cost = np.array([piece_cents(before) for _, before, _, _ in found])
    after = np.array([piece_cents(then) for _, _, _, then in found])
    months = [line.part.shelf_life_months for line, *_ in found]
    ahead = buy_ahead(
        unit_cost=cost,
        rise=after - cost,
        holding_rate=rate,
        demand_per_year=[line.pieces_a_year for line, *_ in found],
        position=[line.position for line, *_ in found],
        pack=[before.pack for _, before, _, _ in found],
        keeps_years=[min(MOST_YEARS, (each or np.inf) / 12) for each in months],
    )
    return [
        Rise(
            offer=offer,
            line=line,
            before=before,
            after=then,
            pieces=int(ahead.pieces[row]),
            days_worth=int(ahead.years_worth[row] * DAYS_A_YEAR),
            saving_cents=round(float(ahead.saving[row])),
            keeping_cents=round(cost[row] * rate),
        )
        for row, (line, before, offer, then) in enumerate(found)
    ]
