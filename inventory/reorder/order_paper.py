"""An order as it goes to the supplier, whatever it is written on: who, what, how many, at what."""

from dataclasses import dataclass
from datetime import date

from inventory.reorder.models import Offer, Order, OrderLine
from inventory.shop.models import ShopSettings


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperLine:
    """`code` is the supplier's own number; blank where no offer gives one."""

    code: str
    number: str
    words: str
    packs: int
    pack: int
    pack_price_cents: int | None
    value_cents: int | None
    mark: str

    @property
    def pieces(self) -> int:
        return self.packs * self.pack


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderPaper:
    """`freight_cents` is 0 where the order is large enough to come free."""

    shop: ShopSettings
    order: Order
    on: date
    lines: tuple[PaperLine, ...]
    freight_cents: int

    @property
    def title(self) -> str:
        return f"Order {self.order}" + (" (draft, not sent)" if self.order.is_draft else "")

    @property
    def without_price(self) -> int:
        return sum(line.value_cents is None for line in self.lines)

    @property
    def total_cents(self) -> int:
        return sum(line.value_cents or 0 for line in self.lines)


def order_paper(order: Order, shop: ShopSettings) -> OrderPaper:
    """The order with the supplier's numbers, as they hold on the day it was sent or is read."""
    on = order.site.day_of(order.sent_at) if order.sent_at else order.site.today()
    lines = list(order.lines.select_related("part"))
    codes = _supplier_codes(order, [line.part_id for line in lines], on)
    paper_lines = tuple(_paper_line(line, codes.get(line.part_id, "")) for line in lines)
    total = sum(line.value_cents or 0 for line in paper_lines)
    free_from = order.supplier.freight_free_from_cents
    free = free_from is not None and total >= free_from
    return OrderPaper(
        shop=shop,
        order=order,
        on=on,
        lines=paper_lines,
        freight_cents=0 if free else order.supplier.freight_cents,
    )


def _supplier_codes(order: Order, parts: list[int], on: date) -> dict[int, str]:
    offers = Offer.objects.filter(supplier=order.supplier, part__in=parts).valid_on(on)
    named = offers.exclude(supplier_code="").order_by("valid_from")
    return dict(named.values_list("part_id", "supplier_code"))


def _paper_line(line: OrderLine, code: str) -> PaperLine:
    return PaperLine(
        code=code,
        number=line.part.number,
        words=line.part.words,
        packs=line.packs,
        pack=line.pack,
        pack_price_cents=line.pack_price_cents,
        value_cents=line.value_cents,
        mark=f"mark it {line.job_key}" if line.job_key else "",
    )
