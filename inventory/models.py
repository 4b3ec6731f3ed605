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
from inventory.shop.models import Bin, Change, ShopSettings, Site

__all__ = [
    "Application",
    "Bin",
    "Change",
    "Evidence",
    "Fitment",
    "MadeOf",
    "Part",
    "PartCode",
    "SellingPrice",
    "ShopSettings",
    "Site",
    "Supersession",
    "VinPattern",
]
