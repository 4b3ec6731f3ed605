"""Prices loaded from a workbook, as the log of changes keeps them."""

from collections.abc import Sequence
from typing import Any

from inventory.catalog.models import Part, SellingPrice
from inventory.sheet.records import Edit
from inventory.shop.actions import record_changes


def log_prices(edits: Sequence[Edit], by: Any) -> None:
    """Selling prices loaded from a workbook: each one added or changed."""
    prices = [(e, e.record) for e in edits if isinstance(e.record, SellingPrice)]
    numbers = dict(
        Part.objects.filter(pk__in={price.part_id for _, price in prices}).values_list(
            "pk", "number"
        )
    )
    record_changes(
        [
            (price, f"price of {numbers[price.part_id]} from {price.valid_from}", e.before, e.after)
            for e, price in prices
        ],
        by=by,
    )
