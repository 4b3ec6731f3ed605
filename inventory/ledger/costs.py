"""What a part cost when it was last bought: the price of surplus, the weight of a piece."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import prod

from inventory.catalog.models import Part
from inventory.ledger.models import Lot, PostingKind
from inventory.shop.models import Site

BOUGHT = (PostingKind.OPENING, PostingKind.RECEIVED)


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """Cents of so many pieces, unrounded to a single one."""

    cents: int
    pieces: int


def last_cost(part: Part, site: Site) -> Cost | None:
    """As last bought here, else anywhere; a receipt that was undone was no purchase."""
    bought = Lot.objects.filter(
        shelf__part=part,
        cents_received__gt=0,
        movements__of=None,
        movements__posting__kind__in=BOUGHT,
        movements__posting__undone_by=None,
    )
    newest = bought.order_by("-received_on", "-pk")
    lot = newest.filter(shelf__site=site).first() or newest.first()
    return Cost(cents=lot.cents_received, pieces=lot.pieces_received) if lot else None


def weights(pieces: Sequence[tuple[Part, int]], site: Site) -> list[int]:
    """How the cents of a whole go to its pieces: by last cost, else list price, else alike."""
    known = [cost for part, _ in pieces if (cost := last_cost(part, site) or _listed(part))]
    if len(known) < len(pieces):
        return [count for _, count in pieces]
    # Over one denominator, so that a price below a cent keeps its weight.
    whole = prod(cost.pieces for cost in known)
    return [
        cost.cents * (whole // cost.pieces) * count
        for cost, (_, count) in zip(known, pieces, strict=True)
    ]


def _listed(part: Part) -> Cost | None:
    return Cost(cents=part.list_price_cents, pieces=1) if part.list_price_cents else None
