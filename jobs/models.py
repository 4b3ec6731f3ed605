"""Re-exports, so that a model can move between subjects without a migration."""

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
    "Approval",
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
