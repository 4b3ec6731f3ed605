"""What later movements left of an earlier one: returned, undone or corrected.

An answer whose posting was undone no longer counts, and neither does its undo, which answers it.
"""

from collections import Counter
from collections.abc import Sequence
from typing import Any

from django.db.models import QuerySet, Sum

from inventory.ledger.models import Movement, MovementQuerySet


def standing_answers(movement: Movement) -> MovementQuerySet:
    return movement.answers.filter(posting__undone_by=None)


def net_of(movement: Movement) -> tuple[int, int]:
    """Pieces and cents of a movement together with all that returns, undoes or corrects it."""
    answers = standing_answers(movement).aggregate(pieces=Sum("pieces"), cents=Sum("cents"))
    return movement.pieces + (answers["pieces"] or 0), movement.cents + (answers["cents"] or 0)


def still_out(issued: Movement) -> tuple[int, int]:
    """Pieces and cents of an issue that have not come back, corrections included."""
    pieces, cents = net_of(issued)
    return -pieces, -cents


def cost_of_postings(postings: Sequence[int] | QuerySet[Any, Any]) -> dict[int, int]:
    """Cents that each posting took from the shelf, with all that returns, undoes or corrects it.

    A query for each round of answers, however many postings: an issue, what was returned of it,
    what was corrected of the return.
    """
    cost: Counter[int] = Counter()
    path = "posting"
    while rows := _cents_by(path, postings):
        for posting, cents in rows:
            cost[posting] -= cents
        path = f"of__{path}"
    return dict(cost)


def _cents_by(path: str, postings: Any) -> list[tuple[int, int]]:
    moved = Movement.objects.filter(**{f"{path}__in": postings}).order_by()
    return list(moved.values_list(path).annotate(cents=Sum("cents")))
