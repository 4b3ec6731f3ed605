"""The plan as a person reads it: what to order today, from whom, and before when.

Nothing is computed here but sums; every figure is the plan line's own.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from itertools import groupby

from inventory.reorder.models import PlanLine, PlanRun, Supplier
from inventory.shop.models import Site


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplierLines:
    """What one supplier should get on the next order."""

    supplier: Supplier
    leaves_at: datetime
    lines: list[PlanLine]

    @property
    def total_cents(self) -> int:
        return sum(line.cost_cents or 0 for line in self.lines)

    @property
    def lines_without_price(self) -> int:
        return sum(line.pack_price_cents is None for line in self.lines)

    @property
    def to_freight_free_cents(self) -> int | None:
        """What is missing until freight is free; None where freight does not depend on it."""
        threshold = self.supplier.freight_free_from_cents
        if threshold is None or not self.supplier.freight_cents:
            return None
        return max(0, threshold - self.total_cents)

    @property
    def freight_cents(self) -> int:
        return 0 if self.to_freight_free_cents == 0 else self.supplier.freight_cents


@dataclass(frozen=True, slots=True, kw_only=True)
class ReorderList:
    run: PlanRun | None
    groups: list[SupplierLines] = field(default_factory=list)
    nowhere: list[PlanLine] = field(default_factory=list)

    @property
    def line_count(self) -> int:
        return sum(len(group.lines) for group in self.groups)

    @property
    def leaves_first(self) -> datetime | None:
        return min((group.leaves_at for group in self.groups), default=None)

    @property
    def total_cents(self) -> int:
        return sum(group.total_cents + group.freight_cents for group in self.groups)


def reorder_list(site: Site, *, now: datetime) -> ReorderList:
    """The last finished plan's suggestions for a site; `now` is the site's own clock."""
    run = PlanRun.objects.finished().first()
    if run is None:
        return ReorderList(run=None)
    lines = list(PlanLine.objects.for_reorder_list(run, site))
    return ReorderList(
        run=run,
        groups=list(_by_supplier(lines, now)),
        nowhere=[line for line in lines if line.supplier is None],
    )


def _by_supplier(lines: Iterable[PlanLine], now: datetime) -> Iterable[SupplierLines]:
    bought = (line for line in lines if line.supplier is not None)
    for supplier, of_supplier in groupby(bought, key=lambda line: line.supplier):
        if supplier is not None:
            yield SupplierLines(
                supplier=supplier, leaves_at=supplier.leaves_at(now), lines=list(of_supplier)
            )
