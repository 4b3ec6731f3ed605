"""What is on the shelves and on the way of the parts that fit, put beside the offer."""

from collections.abc import Collection
from dataclasses import dataclass, field

from inventory.shop.models import Site


@dataclass(slots=True, kw_only=True)
class Supply:
    here: int = 0
    elsewhere: int = 0
    arriving: int = 0
    bins: list[str] = field(default_factory=list)
    sites: list[str] = field(default_factory=list)


def supply_of(part_ids: Collection[int], site: Site) -> dict[int, Supply]:
    return {}
