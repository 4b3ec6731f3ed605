"""A van filled up from the shops: one click puts everything on the road that is still there."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from django.core.exceptions import ValidationError

from inventory.catalog.models import Part
from inventory.ledger.actions import send_transfer
from inventory.ledger.models import Transfer
from inventory.shop.models import Site, SiteKind


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """So many pieces of a part from one shop."""

    part_id: int
    source_id: int
    pieces: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Filled:
    """What was sent, and why the rest was not, a sentence a part."""

    sent: list[Transfer] = field(default_factory=list)
    short: list[str] = field(default_factory=list)


def fill_van(van: Site, *, wanted: Iterable[Wanted], by: Any, key: str) -> Filled:
    """Send each part by a transfer of its own; what is no longer there is left out and named.

    Each is posted once by its own key, so that the same click sent again, or after a halt half-way,
    sends what is left and nothing twice.
    """
    if van.kind != SiteKind.VAN:
        raise ValidationError(f"{van} is no van; choose a van to fill up.")
    asked = list(wanted)
    parts = Part.objects.in_bulk([each.part_id for each in asked])
    shops = Site.objects.selling().filter(kind=SiteKind.SHOP).in_bulk()
    filled = Filled()
    for each in asked:
        if each.part_id not in parts or each.source_id not in shops:
            raise ValidationError("The shops or parts have changed; open the list again.")
        part = parts[each.part_id]
        try:
            transfer = send_transfer(
                part,
                from_site=shops[each.source_id],
                to_site=van,
                pieces=each.pieces,
                by=by,
                key=f"{key}-{each.part_id}-{each.source_id}",
            )
        except ValidationError as refusal:
            filled.short.append(f"{part.number} was not sent: {' '.join(refusal.messages)}")
        else:
            filled.sent.append(transfer)
    return filled
