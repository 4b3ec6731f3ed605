"""Valid offers as arrays: packs, minimums, prices by quantity, the cost of ordering a line."""

from datetime import date, timedelta

import numpy as np
from django.db.models import Count, Max, Q

from inventory.reorder.inputs.facts import Floats, Ints, Offers
from inventory.reorder.models import Offer, OfferBreak, Order, OrderStatus, Supplier

LINES_AN_ORDER = 8
"""How many lines share the cost of an order, until a supplier's own orders tell."""
ENDS_SOON_DAYS = 60


def read_offers(day: date, suppliers: list[Supplier]) -> tuple[Offers, Ints]:
    """The offers that hold that day, part by part, and the part of each (nobody's row has 0)."""
    rows = _latest(day)
    row_of = {supplier.pk: row for row, supplier in enumerate(suppliers)}
    pk, supplier, part, pack, least, price = (
        np.array(column, dtype=np.int64) for column in zip(*rows, NOBODY, strict=True)
    )
    supplier = np.array([row_of.get(number, len(suppliers)) for number in supplier.tolist()])
    from_pieces, unit_cents = _prices(day, pk, pack, price)
    fixed = np.append(_fixed_cents(suppliers), 0.0)
    found = Offers(
        pk=pk,
        supplier=supplier,
        pack=pack,
        least_pieces=least * pack,
        from_pieces=from_pieces,
        unit_cents=unit_cents,
        fixed_cents=fixed[supplier],
    )
    return found, part


def read_last_days(day: date) -> dict[int, date]:
    """The last day to buy each part whose offers all end soon, with none to follow."""
    offers = Offer.objects.filter(Q(valid_to=None) | Q(valid_to__gte=day)).order_by()
    ending = offers.values_list("part_id").annotate(
        last=Max("valid_to"), endless=Count("pk", filter=Q(valid_to=None))
    )
    soon = day + timedelta(days=ENDS_SOON_DAYS)
    return {part: last for part, last, endless in ending if not endless and last <= soon}


NOBODY = (0, 0, 0, 1, 1, 0)


def _latest(day: date) -> list[tuple[int, ...]]:
    """Of several prices of one pack from one supplier, the one that began last."""
    offers = (
        Offer.objects.valid_on(day)
        .order_by("part_id", "supplier_id", "pack", "valid_from")
        .values_list("pk", "supplier_id", "part_id", "pack", "minimum_packs", "pack_price_cents")
    )
    latest = {
        (part, supplier, pack): row for row in offers for _, supplier, part, pack, *_ in [row]
    }
    return list(latest.values())


def _prices(day: date, pk: Ints, pack: Ints, price: Ints) -> tuple[Floats, Floats]:
    """From how many pieces which price of a piece holds; a price that is not there is infinite."""
    breaks: dict[int, list[tuple[int, int]]] = {}
    found = OfferBreak.objects.filter(offer__in=Offer.objects.valid_on(day))
    for offer, *step in found.order_by("offer_id", "from_packs").values_list(
        "offer_id", "from_packs", "pack_price_cents"
    ):
        breaks.setdefault(offer, []).append((step[0], step[1]))
    levels = 1 + max((len(steps) for steps in breaks.values()), default=0)
    from_packs = np.full((len(pk), levels), np.inf)
    cents = np.ones((len(pk), levels))
    from_packs[:, 0], cents[:, 0] = 0, price
    # What nobody offers is taken to cost what parts usually cost, so that it is kept no easier.
    cents[-1, 0] = np.median(price[:-1] / pack[:-1]) if len(pk) > 1 else 0
    for row, offer in enumerate(pk.tolist()):
        for level, (packs, step_price) in enumerate(breaks.get(offer, ()), start=1):
            from_packs[row, level], cents[row, level] = packs, step_price
    return from_packs * pack[:, None], cents / pack[:, None]


def _fixed_cents(suppliers: list[Supplier]) -> list[float]:
    """What a line adds to the cost of ordering: its share of the paperwork and the freight."""
    placed = Order.objects.exclude(status=OrderStatus.DRAFT).order_by().values("supplier")
    counted = placed.annotate(placed=Count("pk", distinct=True), with_lines=Count("lines"))
    lines = {row["supplier"]: row["with_lines"] / row["placed"] for row in counted}
    return [
        (supplier.order_cost_cents + supplier.freight_cents)
        / max(1.0, lines.get(supplier.pk, LINES_AN_ORDER))
        for supplier in suppliers
    ]
