"""What was ordered for one job: where it stands, and what a person does about it next."""

from dataclasses import dataclass
from datetime import date

from inventory.reorder.models import OrderLine, OrderStatus


@dataclass(frozen=True, slots=True, kw_only=True)
class SpecialOrder:
    """`is_late` and `is_here` pick the rows that want a person today."""

    line: OrderLine
    state: str
    next_step: str
    is_late: bool = False
    is_here: bool = False


def special_order(line: OrderLine, today: date) -> SpecialOrder:
    """A line that `OrderLine.objects.special` annotated."""
    if line.held:
        return SpecialOrder(
            line=line,
            state=f"{line.held} here and held",
            next_step="Call the customer, then fit it on the job",
            is_here=True,
        )
    if line.order.is_draft:
        return SpecialOrder(line=line, state="not sent", next_step="Send the order")
    if line.order.is_coming and line.pieces_open:
        return _coming(line, today)
    return _past(line)


def _coming(line: OrderLine, today: date) -> SpecialOrder:
    came = f", {line.pieces_delivered} came" if line.pieces_delivered else ""
    state = f"{line.pieces_open} on the way{came}"
    expected = line.order.expected_on
    if expected is not None and expected < today:
        step = f"Late: ask {line.order.supplier}, and tell the customer"
        return SpecialOrder(line=line, state=state, next_step=step, is_late=True)
    return SpecialOrder(line=line, state=state, next_step="Wait for it")


def _past(line: OrderLine) -> SpecialOrder:
    if line.pieces_delivered:
        return SpecialOrder(line=line, state="came, and left its hold", next_step="")
    withdrawn = line.pieces_withdrawn or line.order.status == OrderStatus.WITHDRAWN
    return SpecialOrder(
        line=line,
        state="withdrawn" if withdrawn else "not coming",
        next_step="Order it elsewhere, or tell the customer",
    )
