"""What later movements left of an earlier one: returned, undone or corrected.

An answer whose posting was undone no longer counts, and neither does its undo, which answers it.
"""

from django.db.models import Sum

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


def cost_of_postings(posting_ids: list[int]) -> dict[int, int]:
    """Cents that each posting took from the shelf, with all that returns, undoes or corrects it.

    A query for each round of answers, however many postings: an issue, what was returned of it,
    what was corrected of the return.
    """
    cost = dict.fromkeys(posting_ids, 0)
    found = Movement.objects.filter(posting__in=posting_ids).values_list("pk", "posting", "cents")
    owner: dict[int, int] = {}
    rows = list(found)
    while rows:
        for pk, posting, cents in rows:
            owner[pk] = posting
            cost[posting] -= cents
        answers = Movement.objects.filter(of__in=[pk for pk, _, _ in rows])
        rows = [
            (pk, owner[of], cents) for pk, of, cents in answers.values_list("pk", "of_id", "cents")
        ]
    return cost
