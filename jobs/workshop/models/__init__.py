"""What was done to which vehicle, and what it showed: vehicles, wheels, lives of parts, jobs.

A wheel is known by its own history, never by where it stands or by the id of its sensor. What a
job earned is computed in costing; what to do on a wheel is advised in replacement.
"""

from jobs.workshop.models.findings import (
    AdviceGiven,
    Battery,
    Heard,
    Inspection,
    LeakAt,
    Reading,
    Source,
    StemCondition,
    Strength,
)
from jobs.workshop.models.jobs import (
    Approval,
    Cause,
    Declined,
    Job,
    JobKind,
    JobLine,
    JobQuerySet,
    Lamp,
    LineKind,
    Payer,
    PlannedPart,
    WheelAction,
)
from jobs.workshop.models.pieces import (
    EndReason,
    Fitted,
    FittedQuerySet,
    PieceKind,
    SinceKnown,
)
from jobs.workshop.models.vehicles import (
    Account,
    BuiltKnown,
    Keeper,
    Vehicle,
    VehicleQuerySet,
    WheelSet,
)
from jobs.workshop.models.wheels import (
    CORNERS,
    IdOrigin,
    Place,
    PlaceQuerySet,
    Position,
    Wheel,
    WheelId,
    WheelKind,
)

__all__ = [
    "CORNERS",
    "Account",
    "AdviceGiven",
    "Approval",
    "Battery",
    "BuiltKnown",
    "Cause",
    "Declined",
    "EndReason",
    "Fitted",
    "FittedQuerySet",
    "Heard",
    "IdOrigin",
    "Inspection",
    "Job",
    "JobKind",
    "JobLine",
    "JobQuerySet",
    "Keeper",
    "Lamp",
    "LeakAt",
    "LineKind",
    "Payer",
    "PieceKind",
    "Place",
    "PlaceQuerySet",
    "PlannedPart",
    "Position",
    "Reading",
    "SinceKnown",
    "Source",
    "StemCondition",
    "Strength",
    "Vehicle",
    "VehicleQuerySet",
    "Wheel",
    "WheelAction",
    "WheelId",
    "WheelKind",
    "WheelSet",
]
