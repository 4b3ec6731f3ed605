"""Which part-sites a plan looks at, and what stands on their shelves and on the way."""

from collections.abc import Iterable
from itertools import chain

import numpy as np
from django.db.models import F, Sum

from inventory.catalog.models import Counted
from inventory.ledger.models import Shelf, Transfer
from inventory.reorder.inputs.facts import Ints, Rows, Stock, coded
from inventory.reorder.models import OrderLine
from inventory.shop.models import SiteKind

AT_A_TIME = 10_000
COUNTED_PART = {"part__counted__in": [Counted.EACH, Counted.PACK]}


def table(found: Iterable[tuple[int, ...]], columns: int) -> Ints:
    """Rows of whole numbers as an array, even when there are none."""
    # Number by number: millions of rows kept as tuples would fill the memory.
    return np.fromiter(chain.from_iterable(found), dtype=np.int64).reshape(-1, columns)


def read_shelves() -> Ints:
    """(part, site, usable, held) of every shelf that sells."""
    shelves = Shelf.objects.filter(**COUNTED_PART).exclude(site__kind=SiteKind.TRANSIT)
    rows = shelves.order_by().values_list("part_id", "site_id", "usable", "held")
    return table(rows.iterator(AT_A_TIME), 4)


def read_coming() -> Ints:
    """(part, site, pieces, of them for jobs) on orders that were sent, and on the road."""
    open_pieces = F("packs") * F("pack") - F("pieces_delivered") - F("pieces_withdrawn")
    lines = OrderLine.objects.coming().filter(**COUNTED_PART).order_by()
    grouped = lines.values("part_id", "order__site_id", "job_key").annotate(total=Sum(open_pieces))
    on_order = (
        (part, site, total, total if job_key else 0)
        for part, site, job_key, total in grouped.values_list(
            "part_id", "order__site_id", "job_key", "total"
        )
    )
    road = Transfer.objects.on_the_road().filter(**COUNTED_PART).order_by()
    by_part = road.values_list("part_id", "to_site_id").annotate(total=Sum("pieces"))
    return table(chain(on_order, ((*found, 0) for found in by_part)), 4)


def rows_of(*facts: Ints) -> Rows:
    """Every part-site that some fact speaks of."""
    code = np.unique(np.concatenate([coded(fact[:, 0], fact[:, 1]) for fact in facts]))
    return Rows(part=code >> 20, site=code & ((1 << 20) - 1))


def stock_of(rows: Rows, shelves: Ints, coming: Ints, older: Ints) -> Stock:
    return Stock(
        older=older,
        on_hand=rows.total(shelves[:, :3]),
        held=rows.total(shelves[:, [0, 1, 3]]),
        on_order=rows.total(coming[:, :3]),
        owed=rows.total(coming[:, [0, 1, 3]]),
    )
