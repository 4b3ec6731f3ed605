"""The only writers of stock. Each action posts once under its key and refuses in a sentence.

Several postings in one transaction: take their shelves first, with `lock_shelves`, or leave them
to `record_postings`; two that take the same shelves in a different order would block each other.
"""

from inventory.ledger.actions.asking import log_ask, settle_ask
from inventory.ledger.actions.bulk import MovementRow, RefusedRowError, record_postings
from inventory.ledger.actions.correcting import count_stock, return_to_supplier, scrap_stock
from inventory.ledger.actions.counting import close_count, count_line, settle_line, start_count
from inventory.ledger.actions.holding import (
    hold_parts,
    keep_hold_until,
    mark_arrived,
    release_hold,
)
from inventory.ledger.actions.issuing import issue_stock, return_stock
from inventory.ledger.actions.making import put_together, take_apart
from inventory.ledger.actions.moving import (
    keep_borrowed,
    move_stock,
    receive_transfer,
    send_back,
    send_transfer,
)
from inventory.ledger.actions.receiving import receive_stock, take_off_car
from inventory.ledger.actions.revaluing import revalue_stock
from inventory.ledger.actions.undoing import undo_posting
from inventory.ledger.entry import Occasion
from inventory.ledger.shelves import lock_shelves
from inventory.ledger.trails import cost_of_postings, still_out

__all__ = [
    "MovementRow",
    "Occasion",
    "RefusedRowError",
    "close_count",
    "cost_of_postings",
    "count_line",
    "count_stock",
    "hold_parts",
    "issue_stock",
    "keep_borrowed",
    "keep_hold_until",
    "lock_shelves",
    "log_ask",
    "mark_arrived",
    "move_stock",
    "put_together",
    "receive_stock",
    "receive_transfer",
    "record_postings",
    "release_hold",
    "return_stock",
    "return_to_supplier",
    "revalue_stock",
    "scrap_stock",
    "send_back",
    "send_transfer",
    "settle_ask",
    "settle_line",
    "start_count",
    "still_out",
    "take_apart",
    "take_off_car",
    "undo_posting",
]
