"""What the money on the shelves brings: return, turns and days by kind of part, and dead money."""

from collections import Counter, defaultdict
from collections.abc import Mapping
from dataclasses import dataclass

from inventory.catalog.models import PartKind
from inventory.shop.models import Site
from jobs.costing.margin import Margin
from jobs.costing.ratios import DAYS_PER_YEAR, gmroi, stock_turns
from jobs.review.inputs.stock_money import DeadStock, mean_stocks, stock_now
from jobs.review.period import PeriodEarned


@dataclass(frozen=True, slots=True, kw_only=True)
class ShelfReturn:
    """One kind of part: sold on the days of the period, and what lay there meanwhile. Cents."""

    key: str
    words: str
    sold: Margin
    days_sold: int
    mean_stock_cents: float
    stock_cents: int
    dead_cents: int

    @property
    def a_year(self) -> float:
        return DAYS_PER_YEAR / self.days_sold

    @property
    def gmroi(self) -> float | None:
        """Margin of a year at this rate, for each unit of money that lay in the stock."""
        earned = self.sold.margin_cents * self.a_year
        return gmroi(gross_margin=earned, mean_stock=self.mean_stock_cents)

    @property
    def turns(self) -> float | None:
        cost = self.sold.parts_cents * self.a_year
        return stock_turns(cost_of_goods=cost, mean_stock=self.mean_stock_cents).turns

    @property
    def days(self) -> float | None:
        cost = self.sold.parts_cents * self.a_year
        return stock_turns(cost_of_goods=cost, mean_stock=self.mean_stock_cents).days

    @property
    def mean_cents(self) -> int:
        return round(self.mean_stock_cents)


def shelf_returns(
    now: PeriodEarned, dead: list[DeadStock], *, site: Site | None
) -> list[ShelfReturn]:
    """By kind of part, and all kinds together at the end."""
    sold = sold_by_kind(now)
    stock = stock_now(site)
    mean = mean_stocks(stock, first=now.span.first, days=now.span.days, site=site)
    lost: Counter[str] = Counter()
    for one in dead:
        lost[one.kind] += one.cents
    kinds = [kind for kind in PartKind if kind in sold or mean.get(kind) or stock.get(kind)]
    rows = [
        ShelfReturn(
            key=kind,
            words=kind.label,
            sold=sold.get(kind, Margin()),
            days_sold=now.span.days,
            mean_stock_cents=mean.get(kind, 0),
            stock_cents=stock.get(kind, 0),
            dead_cents=lost[kind],
        )
        for kind in kinds
    ]
    return [*rows, all_kinds(rows, now.span.days)]


def all_kinds(rows: list[ShelfReturn], days: int) -> ShelfReturn:
    return ShelfReturn(
        key="",
        words="All kinds",
        sold=sum((row.sold for row in rows), Margin()),
        days_sold=days,
        mean_stock_cents=sum(row.mean_stock_cents for row in rows),
        stock_cents=sum(row.stock_cents for row in rows),
        dead_cents=sum(row.dead_cents for row in rows),
    )


def sold_by_kind(now: PeriodEarned) -> Mapping[str, Margin]:
    """Part lines alone: what they took and what the parts cost."""
    sold: defaultdict[str, list[Margin]] = defaultdict(list)
    for one in now.jobs:
        for line in one.lines:
            if line.line.part_kind:
                sold[line.line.part_kind].append(line.margin)
    return {kind: sum(margins, Margin()) for kind, margins in sold.items()}
