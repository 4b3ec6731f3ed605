"""The facts a plan needs, read once for all parts and sites: one grouped query a fact.

Rows of the database become arrays here and nowhere else; no query is made for a single part. What
the figures mean is `figures`, what is written down of them is `actions.plan`.
"""

from datetime import date

import numpy as np

from inventory.reorder.inputs.asks import (
    history_of,
    read_asks,
    read_expected,
    read_usable_by_day,
)
from inventory.reorder.inputs.facts import Ints, PlanInputs, Rows
from inventory.reorder.inputs.goals import goals_of, part_sites, read_goals
from inventory.reorder.inputs.money import worth_of
from inventory.reorder.inputs.offers import read_last_days, read_offers
from inventory.reorder.inputs.stand_ins import read_stand_ins
from inventory.reorder.inputs.stock import read_coming, read_shelves, rows_of, stock_of, table
from inventory.reorder.inputs.superseded import read_superseded
from inventory.reorder.inputs.waits import intervals, known_by, read_waits
from inventory.reorder.models import Supplier
from inventory.shop.amounts import day_text
from inventory.shop.models import ShopSettings, Site

LAST_BUY = "Nobody offers it after {day}: buy what is still needed by then."


def plan_inputs(as_of: date, *, moved: Ints | None = None) -> PlanInputs:
    """Everything a plan of that day knows. Shelves and orders are read as they stand now.

    `moved` is what moved day by day, where it was read already for several plans.
    """
    sites, suppliers = list(Site.objects.selling()), list(Supplier.objects.order_by("pk"))
    superseded = read_superseded(as_of)
    shelves, coming = read_shelves(), read_coming()
    # What was asked for in the old part's name is demand for the new one.
    asks = superseded.handed_on(read_asks(as_of))
    movements = read_usable_by_day(as_of, sites) if moved is None else moved
    by_day = superseded.handed_on(movements)
    expected, own = superseded.expected(read_expected(as_of)), read_goals(sites)
    awaited = table(((a, b) for a, b, *_ in expected), 2)
    rows = rows_of(shelves, coming, asks, awaited, part_sites(own))
    older = superseded.older(rows, shelves)
    offers, part = read_offers(as_of, suppliers)
    first_offer, offer_count = offers_by_row(rows, part)
    shop = ShopSettings.load()
    return PlanInputs(
        as_of=as_of,
        rows=rows,
        history=history_of(as_of, rows, asks, by_day, expected, sites),
        stock=stock_of(rows, shelves, coming, older),
        offers=offers,
        first_offer=first_offer,
        offer_count=offer_count,
        supplier=np.array([supplier.pk for supplier in suppliers], dtype=np.int64),
        interval=intervals(suppliers, known_by(read_waits(), as_of)),
        worth=worth_of(as_of, rows, offers.unit_cents[first_offer, 0], shop),
        goals=goals_of(rows, own, shop),
        stand_ins=read_stand_ins(rows),
        superseded=superseded.rows(rows),
        notes=notes_of(superseded.notes(rows, older), read_last_days(as_of), rows, shop),
    )


def offers_by_row(rows: Rows, part: Ints) -> tuple[Ints, Ints]:
    """The first offer of each row's part, and how many there are; nobody's where there is none."""
    offered, nobody = part[:-1], len(part) - 1
    first = np.searchsorted(offered, rows.part)
    count = np.searchsorted(offered, rows.part, side="right") - first
    return np.where(count == 0, nobody, first), np.maximum(count, 1)


def notes_of(
    superseded: list[str], last_days: dict[int, date], rows: Rows, shop: ShopSettings
) -> list[str]:
    """A supersession first; else the day after which nobody sells the part any more."""
    ends = {part: LAST_BUY.format(day=day_text(day, shop)) for part, day in last_days.items()}
    parts = rows.part.tolist()
    return [note or ends.get(part, "") for note, part in zip(superseded, parts, strict=True)]
