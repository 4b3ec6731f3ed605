"""Proves the ledger from its movements alone: what is on the shelves now must follow from them.

Reads everything and changes nothing. Each fault names the record and says what does not agree; a
clean ledger gives an empty list.
"""

from collections.abc import Callable

from django.db import connection, transaction

from inventory.ledger.audit.asks import check_asks
from inventory.ledger.audit.movements import check_movements
from inventory.ledger.audit.postings import check_postings
from inventory.ledger.audit.proof import Fault, Proof
from inventory.ledger.audit.standing import check_lots, check_shelves
from inventory.ledger.triggers import missing_triggers

__all__ = ["Fault", "audit"]


def audit() -> list[Fault]:
    """Every fault of the ledger, as it stood at one instant whoever posts meanwhile."""
    proof = Proof()
    outermost = not connection.in_atomic_block
    with transaction.atomic():
        if outermost and connection.vendor == "postgresql":
            with connection.cursor() as cursor:
                cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")
        for check in CHECKS:
            check(proof)
    return proof.faults


def check_triggers(proof: Proof) -> None:
    for name in missing_triggers(connection):
        proof.blame(f"Trigger {name}", "is missing; run migrate to have it made again.")


CHECKS: tuple[Callable[[Proof], None], ...] = (
    check_triggers,
    check_movements,
    check_lots,
    check_shelves,
    check_postings,
    check_asks,
)
