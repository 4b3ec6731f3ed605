"""Re-exports, so that a model can move between subjects without a migration."""

from jobs.review.models import AdviceSettings, Belief
from jobs.workshop.models import (
    Account,
    AdviceGiven,
    Approval,
    Declined,
    Fitted,
    Inspection,
    Job,
    JobLine,
    Keeper,
    Place,
    PlannedPart,
    Reading,
    Vehicle,
    Wheel,
    WheelId,
    WheelSet,
)

__all__ = [
    "Account",
    "AdviceGiven",
    "AdviceSettings",
    "Approval",
    "Belief",
    "Declined",
    "Fitted",
    "Inspection",
    "Job",
    "JobLine",
    "Keeper",
    "Place",
    "PlannedPart",
    "Reading",
    "Vehicle",
    "Wheel",
    "WheelId",
    "WheelSet",
]
