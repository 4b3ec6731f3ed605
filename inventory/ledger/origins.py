"""What a new lot has of where its pieces came from, where its row leaves that open.

As the everyday action of each kind does it; not how many cents go with the pieces.
"""

from collections.abc import Sequence
from typing import Any

from inventory.ledger.models import Condition, Lot, PostingKind
from inventory.ledger.rows import MovementRow

WHOLE = (PostingKind.TAKEN_APART, PostingKind.PUT_TOGETHER)
Facts = dict[str, Any]


def lot_facts(row: MovementRow, sources: Sequence[Lot], occasion: str = "") -> Facts:
    """Fields of the lot that a row opens.

    sources : the lots that its pieces were taken from, oldest first
    occasion : of the issue that a return answers
    """
    told = {
        "bin_id": row.bin_id,
        "received_on": row.received_on,
        "made_on": row.made_on,
        "maker_code": row.maker_code,
        "condition": row.condition,
        "prepared_for": row.prepared_for,
        "came_from": row.came_from,
    }
    facts = _inherited(row, sources, occasion) | {name: v for name, v in told.items() if v}
    if len(sources) == 1 and row.kind != PostingKind.PUT_TOGETHER:
        facts["from_lot"] = sources[0]
    return facts


def _inherited(row: MovementRow, sources: Sequence[Lot], occasion: str) -> Facts:
    plain: Facts = {"condition": Condition.SEALED}
    if row.kind == PostingKind.COUNTED:
        return plain | {"came_from": "Counted"}
    if row.kind == PostingKind.TAKEN_OFF:
        return {"condition": Condition.CLAIM, "came_from": row.occasion}
    if not sources:
        return plain
    if row.kind in WHOLE:
        return _made(row, sources)
    return (
        _moved(row, sources[0])
        if row.kind == PostingKind.MOVED
        else plain | _back(sources[0], occasion)
    )


def _moved(row: MovementRow, source: Lot) -> Facts:
    """As it was; in its bin unless it goes elsewhere."""
    here = source.shelf.site_id == row.site_id
    return {
        "bin_id": source.bin_id if here else None,
        "received_on": source.received_on,
        "made_on": source.made_on,
        "maker_code": source.maker_code,
        "condition": source.condition,
        "prepared_for": source.prepared_for if row.condition in {"", source.condition} else "",
        "came_from": source.came_from,
    }


def _back(source: Lot, occasion: str) -> Facts:
    return {
        "received_on": source.received_on,
        "made_on": source.made_on,
        "maker_code": source.maker_code,
        "came_from": occasion,
    }


def _made(row: MovementRow, sources: Sequence[Lot]) -> Facts:
    if row.kind == PostingKind.TAKEN_APART:
        return {
            "condition": Condition.CHECKED,
            "made_on": sources[0].made_on,
            "maker_code": sources[0].maker_code,
            "came_from": f"{sources[0].shelf.part.number} taken apart"[:80],
        }
    return {
        "condition": Condition.CHECKED,
        "made_on": min((lot.made_on for lot in sources if lot.made_on), default=None),
        "came_from": "Put together here",
    }
