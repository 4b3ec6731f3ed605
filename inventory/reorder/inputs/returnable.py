"""Lots on a shelf with who brought them, until when that supplier takes them back, for what fee."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Q

from inventory.ledger.models import Ask, Condition, Lot
from inventory.reorder.models import DeliveryLine, Offer
from inventory.shop.models import Site


@dataclass(frozen=True, slots=True, kw_only=True)
class LotNow:
    """`until` is the last day it can go back; None where nobody takes it, or nobody knows who."""

    part: int
    pieces: int
    cents: int
    received_on: date
    supplier: str
    until: date | None
    fee_per_mille: int


def lots_now(parts: Iterable[int], site: Site) -> list[LotNow]:
    """Sealed lots of the parts at a site; only what was never opened can go back."""
    lots = list(
        Lot.objects.left()
        .filter(shelf__part__in=list(parts), shelf__site=site, condition=Condition.SEALED)
        .select_related("shelf")
    )
    brought = _brought({pk for lot in lots for pk in (lot.pk, lot.from_lot_id) if pk})
    terms = _terms({lot.shelf.part_id for lot in lots})
    return [_lot_now(lot, brought, terms) for lot in lots]


def _lot_now(
    lot: Lot,
    brought: dict[int, tuple[int, str]],
    terms: dict[tuple[int, int], tuple[int, int]],
) -> LotNow:
    supplier, name = brought.get(lot.pk) or brought.get(lot.from_lot_id or 0) or (0, "")
    days, fee = terms.get((lot.shelf.part_id, supplier), (0, 0))
    return LotNow(
        part=lot.shelf.part_id,
        pieces=lot.pieces_left,
        cents=lot.cents_left,
        received_on=lot.received_on,
        supplier=name,
        until=lot.received_on + timedelta(days=days) if days else None,
        fee_per_mille=fee,
    )


def _brought(lots: set[int]) -> dict[int, tuple[int, str]]:
    """By lot, the supplier whose delivery it came with."""
    lines = DeliveryLine.objects.filter(posting__movements__lot__in=lots).order_by("pk")
    found = lines.values_list(
        "posting__movements__lot", "delivery__supplier_id", "delivery__supplier__name"
    )
    return {lot: (supplier, name) for lot, supplier, name in found}


def _terms(parts: set[int]) -> dict[tuple[int, int], tuple[int, int]]:
    """By part and supplier, the days and the fee of the offer that began last."""
    offers = Offer.objects.filter(part__in=parts).order_by("valid_from", "pk")
    found = offers.values_list("part_id", "supplier_id", "returnable_days", "return_fee_per_mille")
    return {(part, supplier): (days, fee) for part, supplier, days, fee in found}


def parts_asked_for(site: Site, *, since: date) -> set[int]:
    asks = Ask.objects.filter(Q(site=site), day__gte=since).order_by()
    return set(asks.values_list("part_id", flat=True).distinct())
