"""What price bands by cost would have earned on the jobs of some days, against what they earned."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from inventory.catalog.models import PartKind
from jobs.costing.margin import Margin
from jobs.costing.prices import PriceBand, banded_price
from jobs.costing.ratios import share
from jobs.review.inputs.margins import UNPAID, JobEarned, LineMargin
from jobs.workshop.prices import less_per_mille

# Up to which cost a band goes, until the owner moves them; an assumption, no source.
LIMITS_CENTS = (500, 2000, 6000, None)
MARKUP_UNTIL_SOLD = 100


@dataclass(frozen=True, slots=True, kw_only=True)
class BandPreview:
    """Parts of one kind sold on these days: as they were, and at the prices of the bands. Cents."""

    words: str
    pieces: int
    sold: Margin
    banded_price_cents: int

    @property
    def banded_margin_cents(self) -> int:
        return self.banded_price_cents - self.sold.parts_cents

    @property
    def gained_cents(self) -> int:
        return self.banded_margin_cents - self.sold.margin_cents

    @property
    def share(self) -> float | None:
        return share(self.sold.margin_cents, self.sold.price_cents)

    @property
    def banded_share(self) -> float | None:
        return share(self.banded_margin_cents, self.banded_price_cents)


def bands_as_charged(jobs: Iterable[JobEarned]) -> list[PriceBand]:
    """The markup that the parts of each band were really sold at: where an owner starts from."""
    price, cost = [0] * len(LIMITS_CENTS), [0] * len(LIMITS_CENTS)
    for line, _ in _paid(jobs):
        each = _each(line)
        number = sum(1 for limit in LIMITS_CENTS if limit is not None and each > limit)
        price[number] += line.margin.price_cents
        cost[number] += line.margin.parts_cents
    return [
        PriceBand(
            up_to_cents=limit,
            markup_percent=max(0, round(100 * (price[n] / cost[n] - 1)))
            if cost[n]
            else MARKUP_UNTIL_SOLD,
        )
        for n, limit in enumerate(LIMITS_CENTS)
    ]


def band_previews(jobs: Iterable[JobEarned], bands: Sequence[PriceBand]) -> list[BandPreview]:
    """By kind of part, and all together at the end.

    The same parts on the same jobs, less the discount of their accounts. Lines that nobody paid,
    and parts that came back to the shelf, cost nothing here and are left out.
    """
    lines: defaultdict[str, list[tuple[LineMargin, int]]] = defaultdict(list)
    for line, discount in _paid(jobs):
        lines[line.line.part_kind or ""].append((line, discount))
    rows = [_preview(kind.label, lines[kind], bands) for kind in PartKind if lines.get(kind)]
    return [*rows, _preview("All kinds", [one for each in lines.values() for one in each], bands)]


def _paid(jobs: Iterable[JobEarned]) -> Iterator[tuple[LineMargin, int]]:
    for one in jobs:
        for line in one.lines:
            if line.line.part and line.line.payer not in UNPAID and line.margin.parts_cents > 0:
                yield line, one.job.discount_per_mille or 0


def _preview(
    words: str, lines: Sequence[tuple[LineMargin, int]], bands: Sequence[PriceBand]
) -> BandPreview:
    return BandPreview(
        words=words,
        pieces=sum(line.line.quantity for line, _ in lines),
        sold=sum((line.margin for line, _ in lines), Margin()),
        banded_price_cents=sum(_banded(line, discount, bands) for line, discount in lines),
    )


def _banded(line: LineMargin, discount: int, bands: Sequence[PriceBand]) -> int:
    each = banded_price(_each(line), bands)
    return less_per_mille(each * line.line.quantity, discount)


def _each(line: LineMargin) -> int:
    """What one piece of a line cost, to the nearest cent."""
    return round(line.margin.parts_cents / line.line.quantity)
