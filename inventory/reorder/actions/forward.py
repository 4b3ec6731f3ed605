"""An order brought to the freight-free amount by parts that would be due soon anyway."""

from collections.abc import Iterable, Sequence
from typing import Any

from django.db import transaction

from inventory.reorder.actions.orders import add_to_draft, draft_order
from inventory.reorder.models import Order, PlanLine
from inventory.reorder.top_ups import TopUp


@transaction.atomic
def draft_with_top_ups(lines: Sequence[PlanLine], top_ups: Iterable[TopUp], *, by: Any) -> Order:
    """Draft the suggested lines and the parts brought forward; a second click changes nothing."""
    order = draft_order(lines, by=by)
    for top_up in top_ups:
        add_to_draft(
            order.supplier, site=order.site, part=top_up.line.part, pieces=top_up.pieces, by=by
        )
    return order
