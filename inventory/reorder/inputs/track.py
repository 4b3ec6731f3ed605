"""What really happened at one site, day by day: the shelf, and what each ask found there."""

from dataclasses import dataclass
from datetime import date
from zoneinfo import ZoneInfo

import numpy as np
from django.db.models import Q, Sum
from django.db.models.functions import TruncDate

from inventory.ledger.models import Ask, Condition, How, Lot, Movement
from inventory.reorder.inputs.facts import Floats, Ints
from inventory.reorder.inputs.stock import COUNTED_PART
from inventory.shop.models import Site


@dataclass(frozen=True, slots=True, kw_only=True)
class PastAsk:
    """One ask: what was wanted, and how much of it came from the shelf."""

    part: int
    day: date
    pieces: int
    from_shelf: int

    @property
    def was_filled(self) -> bool:
        return self.from_shelf >= self.pieces


def past_asks(site: Site, first: date, last: date) -> list[PastAsk]:
    """Demand in the order in which it came, without what was declined or withdrawn."""
    no_demand = Q(outcomes__how__in=How.no_demand())
    asks = (
        Ask.objects.filter(site=site, day__gte=first, day__lte=last, wish=False, **COUNTED_PART)
        .order_by("day", "at", "pk")
        .annotate(
            gone=Sum("outcomes__pieces", filter=no_demand, default=0),
            shelf=Sum("outcomes__pieces", filter=Q(outcomes__how=How.SHELF), default=0),
        )
    )
    return [
        PastAsk(part=part, day=day, pieces=pieces - gone, from_shelf=shelf)
        for part, day, pieces, gone, shelf in asks.values_list(
            "part_id", "day", "pieces", "gone", "shelf"
        )
        if pieces > gone
    ]


def on_hand_by_day(site: Site, parts: Ints, first: date, last: date) -> Ints:
    """(n_parts, n_days + 1): usable pieces at the opening of the first day and every day's end."""
    days = (last - first).days + 1
    change = np.zeros((len(parts), days + 1), dtype=np.int64)
    row = {part: number for number, part in enumerate(parts.tolist())}
    moved = (
        Movement.objects.filter(site=site, lot__condition__in=Condition.usable())
        .exclude(pieces=0)
        .order_by()
        .annotate(day=TruncDate("posting__happened_at", tzinfo=ZoneInfo(site.zone)))
        .values_list("part_id", "day")
        .annotate(total=Sum("pieces"))
    )
    for part, day, total in moved:
        if part in row and day <= last:
            change[row[part], max(0, (day - first).days + 1)] += total
    return np.asarray(change.cumsum(axis=1))


def cents_a_piece(parts: Ints) -> Floats:
    """What a piece of each part cost on average; 0 for what never cost anything here."""
    lots = Lot.objects.filter(shelf__part__in=parts.tolist(), cents_received__gt=0).order_by()
    paid = lots.values_list("shelf__part_id").annotate(
        pieces=Sum("pieces_received"), cents=Sum("cents_received")
    )
    cost = {part: cents / pieces for part, pieces, cents in paid if pieces}
    return np.array([cost.get(part, 0.0) for part in parts.tolist()])
