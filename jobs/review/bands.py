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

# Where a shop begins to think about its own; an assumption, no source.
FIRST_BANDS = (
    PriceBand(up_to_cents=500, markup_percent=150),
    PriceBand(up_to_cents=2000, markup_percent=100),
    PriceBand(up_to_cents=6000, markup_percent=70),
    PriceBand(up_to_cents=None, markup_percent=50),
)


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
    pieces = line.line.quantity
    each = banded_price(round(line.margin.parts_cents / pieces), bands)
    return less_per_mille(each * pieces, discount)
