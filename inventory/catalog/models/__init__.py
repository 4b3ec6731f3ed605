"""What vehicles need and which parts exist: applications, parts, their codes, and which fits which.

Stock is the ledger's; prices asked by suppliers are the reorder subject's.
"""

from inventory.catalog.models.applications import Application, ApplicationQuerySet, VinPattern
from inventory.catalog.models.fitments import Evidence, EvidenceQuerySet, Fitment
from inventory.catalog.models.parts import (
    MadeOf,
    Part,
    PartCode,
    PartQuerySet,
    SellingPrice,
    Supersession,
)
from inventory.catalog.models.words import (
    ApplicationStatus,
    Axle,
    Band,
    CodeKind,
    Construction,
    Counted,
    EvidenceKind,
    Hole,
    Mounting,
    NewId,
    PartKind,
    Preparation,
    Relearn,
    System,
)

__all__ = [
    "Application",
    "ApplicationQuerySet",
    "ApplicationStatus",
    "Axle",
    "Band",
    "CodeKind",
    "Construction",
    "Counted",
    "Evidence",
    "EvidenceKind",
    "EvidenceQuerySet",
    "Fitment",
    "Hole",
    "MadeOf",
    "Mounting",
    "NewId",
    "Part",
    "PartCode",
    "PartKind",
    "PartQuerySet",
    "Preparation",
    "Relearn",
    "SellingPrice",
    "Supersession",
    "System",
    "VinPattern",
]
