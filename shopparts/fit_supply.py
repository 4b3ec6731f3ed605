"""What is on the shelves and on the way of the parts that fit, put beside the offer."""

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass, field

from django.db.models import F

from inventory.ledger.models import Lot, Shelf
from inventory.reorder.models import Order, OrderLine
from inventory.shop.models import Site


@dataclass(slots=True, kw_only=True)
class Supply:
    """Pieces anybody may take now, here and elsewhere, and pieces on order for here."""

    here: int = 0
    elsewhere: int = 0
    arriving: int = 0
    bins: list[str] = field(default_factory=list)
    sites: list[str] = field(default_factory=list)


def supply_of(part_ids: Collection[int], site: Site) -> dict[int, Supply]:
    supply: dict[int, Supply] = defaultdict(Supply)
    _add_shelves(supply, part_ids, site)
    _add_bins(supply, part_ids, site)
    lines = OrderLine.objects.filter(part__in=part_ids, order__in=Order.objects.coming())
    for line in lines.filter(order__site=site):
        supply[line.part_id].arriving += line.pieces_open
    return dict(supply)


def _add_shelves(supply: dict[int, Supply], part_ids: Collection[int], site: Site) -> None:
    shelves = Shelf.objects.filter(part__in=part_ids, usable__gt=F("held"))
    for shelf in shelves.select_related("site").order_by("site__code"):
        now = supply[shelf.part_id]
        if shelf.site_id == site.pk:
            now.here = shelf.available
        else:
            now.elsewhere += shelf.available
            now.sites.append(f"{shelf.available} at {shelf.site}")


def _add_bins(supply: dict[int, Supply], part_ids: Collection[int], site: Site) -> None:
    """Bins in the order in which the lots leave: the oldest piece is taken first."""
    lots = Lot.objects.usable().filter(shelf__part__in=part_ids, shelf__site=site)
    for part_id, code in lots.oldest_first().values_list("shelf__part", "bin__code"):
        if code and code not in supply[part_id].bins:
            supply[part_id].bins.append(code)
