"""From whom the parts of job lines were bought: the supplier that delivered their lot."""

from collections.abc import Iterable

from inventory.ledger.models import Lot, Movement
from inventory.reorder.models import DeliveryLine
from jobs.review.inputs.margins import JobEarned

Supplier = tuple[str, str]
"""Primary key, as an address holds it, and name."""


def suppliers_of_lines(jobs: Iterable[JobEarned]) -> dict[int, Supplier]:
    """By line; a line whose stock was there before the first delivery has none.

    Pieces that came out of several lots count for the first of them.
    """
    lines = {line.line.pk: line.line.posting for one in jobs for line in one.lines}
    postings = {posting for posting in lines.values() if posting}
    out = Movement.objects.filter(pieces__lt=0, of=None)
    if postings:
        out = out.filter(posting__gte=min(postings), posting__lte=max(postings))
    lot_of: dict[int | None, int] = {}
    for posting, lot in out.order_by("posting", "number").values_list("posting", "lot"):
        if posting in postings:
            lot_of.setdefault(posting, lot)
    bought = suppliers_of_lots()
    split = dict(Lot.objects.exclude(from_lot=None).order_by().values_list("pk", "from_lot"))
    found: dict[int, Supplier] = {}
    for pk, taken in lines.items():
        supplier = _first_known(lot_of.get(taken), split, bought)
        if supplier:
            found[pk] = supplier
    return found


def _first_known(
    lot: int | None, split: dict[int, int | None], bought: dict[int, Supplier]
) -> Supplier | None:
    """Up the lots that it was split off, to one that a supplier delivered."""
    while lot is not None and lot not in bought:
        lot = split.get(lot)
    return bought.get(lot or 0)


def suppliers_of_lots() -> dict[int, Supplier]:
    rows = DeliveryLine.objects.exclude(posting=None).order_by()
    named = rows.values_list(
        "posting__movements__lot", "delivery__supplier", "delivery__supplier__name"
    )
    return {lot: (str(supplier), name) for lot, supplier, name in named}
