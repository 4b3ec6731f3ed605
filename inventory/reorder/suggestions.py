"""The plan as a person reads it: what to order today, from whom, before when, and what first.

Every figure is the plan line's own; what to move or bring forward is weighed in `moves` and
`top_ups`.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import datetime
from itertools import groupby

from django.db.models import Count, Q

from inventory.reorder.job_waits import WholeJobs, whole_jobs
from inventory.reorder.models import Order, PlanLine, PlanRun, Supplier
from inventory.reorder.models.plan import USE_UP_FIRST
from inventory.reorder.moves import Move, moves
from inventory.reorder.surplus import surplus_list
from inventory.reorder.top_ups import TopUps, top_ups
from inventory.shop.models import Site


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplierLines:
    """What one supplier should get on the next order."""

    supplier: Supplier
    leaves_at: datetime
    lines: list[PlanLine]
    top_ups: TopUps | None = None

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
    moves: list[Move] = field(default_factory=list)
    late: list[Order] = field(default_factory=list)
    asked_count: int = 0
    older_count: int = 0
    surplus_count: int = 0
    jobs: WholeJobs | None = None

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
    elsewhere = PlanLine.objects.elsewhere(run, site, [line.part_id for line in lines])
    late = Order.objects.filter(site=site).overdue(now.date()).for_order_list()
    at_site = PlanLine.objects.filter(run=run, site=site)
    return ReorderList(
        run=run,
        groups=with_top_ups(list(_by_supplier(lines, now)), run, site),
        nowhere=[line for line in lines if line.supplier is None],
        moves=list(moves(lines, elsewhere)),
        late=list(late),
        **at_site.aggregate(
            asked_count=Count("pk", filter=Q(reorder_point__lt=0)),
            older_count=Count("pk", filter=USE_UP_FIRST),
        ),
        surplus_count=len(surplus_list(site, today=now.date()).found),
        jobs=whole_jobs(run, site),
    )


def with_top_ups(groups: list[SupplierLines], run: PlanRun, site: Site) -> list[SupplierLines]:
    """Each supplier's lines with what would make its order travel free."""
    waiting = PlanLine.objects.to_bring_forward(run, site)
    by_supplier: dict[int | None, list[PlanLine]] = {}
    for line in waiting.filter(supplier__in=[group.supplier.pk for group in groups]):
        by_supplier.setdefault(line.supplier_id, []).append(line)
    rate = float(run.figures.get("holding_rate", 0))
    return [
        replace(group, top_ups=top_ups(missing, group.freight_cents, others, rate))
        if (missing := group.to_freight_free_cents)
        and (others := by_supplier.get(group.supplier.pk))
        else group
        for group in groups
    ]


def supplier_lines(supplier: Supplier, site: Site, *, now: datetime) -> SupplierLines | None:
    """What one supplier should get, with what to bring forward; None where it is nothing."""
    groups = reorder_list(site, now=now).groups
    return next((group for group in groups if group.supplier == supplier), None)


def _by_supplier(lines: Iterable[PlanLine], now: datetime) -> Iterable[SupplierLines]:
    bought = (line for line in lines if line.supplier is not None)
    for supplier, of_supplier in groupby(bought, key=lambda line: line.supplier):
        if supplier is not None:
            yield SupplierLines(
                supplier=supplier, leaves_at=supplier.leaves_at(now), lines=list(of_supplier)
            )
