"""Re-exports, so that a model can move between subjects without a migration."""

from inventory.catalog.models import (
    Application,
    Evidence,
    Fitment,
    MadeOf,
    Part,
    PartCode,
    SellingPrice,
    Supersession,
    VinPattern,
)
from inventory.ledger.models import (
    Ask,
    AskOutcome,
    Hold,
    Lot,
    Movement,
    Posting,
    Shelf,
    Transfer,
)
from inventory.shop.models import Bin, Change, ShopSettings, Site

__all__ = [
    "Application",
    "Ask",
    "AskOutcome",
    "Bin",
    "Change",
    "Evidence",
    "Fitment",
    "Hold",
    "Lot",
    "MadeOf",
    "Movement",
    "Part",
    "PartCode",
    "Posting",
    "SellingPrice",
    "Shelf",
    "ShopSettings",
    "Site",
    "Supersession",
    "Transfer",
    "VinPattern",
]
