"""The ledger's sheets of the workbook, what is named before what names it.

What was posted never changes: a posting, a hold or a transfer that is there already is left
alone, an ask or an outcome that differs is refused. A correction is a posting of its own.
"""

from inventory.ledger.sheets.asks import ASKS, OUTCOMES
from inventory.ledger.sheets.postings import POSTINGS
from inventory.ledger.sheets.promises import HOLDS, TRANSFERS
from inventory.sheet import Sheet

SHEETS: tuple[Sheet, ...] = (POSTINGS, ASKS, OUTCOMES, HOLDS, TRANSFERS)
