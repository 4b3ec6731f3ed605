"""The only writers of stock. Each action posts once under its key and refuses in a sentence."""

from inventory.ledger.actions.asking import (
    hold_parts,
    log_ask,
    mark_arrived,
    release_expired_holds,
    release_hold,
    settle_ask,
)
from inventory.ledger.actions.correcting import (
    count_stock,
    return_to_supplier,
    revalue_stock,
    scrap_stock,
    undo_posting,
)
from inventory.ledger.actions.issuing import issue_stock, return_stock, still_out
from inventory.ledger.actions.making import put_together, take_apart
from inventory.ledger.actions.moving import move_stock, receive_transfer, send_transfer
from inventory.ledger.actions.receiving import receive_stock, take_off_car
from inventory.ledger.entry import Occasion

__all__ = [
    "Occasion",
    "count_stock",
    "hold_parts",
    "issue_stock",
    "log_ask",
    "mark_arrived",
    "move_stock",
    "put_together",
    "receive_stock",
    "receive_transfer",
    "release_expired_holds",
    "release_hold",
    "return_stock",
    "return_to_supplier",
    "revalue_stock",
    "scrap_stock",
    "send_transfer",
    "settle_ask",
    "still_out",
    "take_apart",
    "take_off_car",
    "undo_posting",
]
