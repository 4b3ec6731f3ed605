"""What is on the shelf, to the piece and the cent, and how it got there.

Append-only: a correction is a new posting. Only this subject's actions write these tables. An ask
is demand, a movement is supply; the ledger knows jobs only as an occasion, a text and a date.
"""

from inventory.ledger.models.asks import Ask, AskOutcome, AskQuerySet, How
from inventory.ledger.models.counts import CountLine, CountLineQuerySet, CountSheet
from inventory.ledger.models.postings import (
    Movement,
    MovementQuerySet,
    Posting,
    PostingKind,
    PostingQuerySet,
)
from inventory.ledger.models.promises import (
    Borrowed,
    Hold,
    HoldQuerySet,
    Transfer,
    TransferQuerySet,
)
from inventory.ledger.models.stock import Condition, Lot, LotQuerySet, Shelf, ShelfQuerySet

__all__ = [
    "Ask",
    "AskOutcome",
    "AskQuerySet",
    "Borrowed",
    "Condition",
    "CountLine",
    "CountLineQuerySet",
    "CountSheet",
    "Hold",
    "HoldQuerySet",
    "How",
    "Lot",
    "LotQuerySet",
    "Movement",
    "MovementQuerySet",
    "Posting",
    "PostingKind",
    "PostingQuerySet",
    "Shelf",
    "ShelfQuerySet",
    "Transfer",
    "TransferQuerySet",
]
