"""What a part cost when it was last bought: the price of surplus, the weight of a piece."""

from dataclasses import dataclass

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
