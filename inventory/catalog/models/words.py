"""The choices of the catalogue, in the words of the trade."""

from django.db import models


class Band(models.TextChoices):
    MHZ_315 = "315", "315 MHz"
    MHZ_433 = "433", "433 MHz"
    OTHER = "other", "another band"


class Mounting(models.TextChoices):
    SNAP_IN = "snap_in", "Snap-in"
    CLAMP_IN = "clamp_in", "Clamp-in"
    STRAP = "strap", "Strap round the rim"
    INSIDE = "inside", "Inside the tire"


class Construction(models.TextChoices):
    ONE_PIECE = "one_piece", "One-piece"
    TWO_PIECE = "two_piece", "Two-piece"
    UNKNOWN = "unknown", "Not known"


class Hole(models.TextChoices):
    """Names of rim holes. 11.5 and 15.7 are names too, not conversions of the inch values."""

    SMALL = "453", ".453 in / 11.5"
    LARGE = "625", ".625 in / 15.7"


class Axle(models.TextChoices):
    ALL = "all", "All wheels"
    FRONT = "front", "Front"
    REAR = "rear", "Rear"
    SPARE = "spare", "Spare"


class System(models.TextChoices):
    DIRECT = "direct", "Direct: a sensor in each wheel"
    INDIRECT = "indirect", "Indirect: from wheel speed, no sensor in the wheel"


class Relearn(models.TextChoices):
    DRIVE = "drive", "By driving"
    STATIONARY = "stationary", "Steps at the vehicle"
    TOOL = "tool", "Plug-in tool"


class ApplicationStatus(models.TextChoices):
    DRAFT = "draft", "Draft"
    CHECKED = "checked", "Checked"


class PartKind(models.TextChoices):
    ASSEMBLY = "assembly", "Sensor assembly"
    BODY = "body", "Sensor body"
    STEM = "stem", "Stem"
    KIT = "kit", "Service kit"
    SEAL = "seal", "Seal"
    CORE = "core", "Valve core"
    CAP = "cap", "Valve cap"
    PLAIN_VALVE = "plain_valve", "Plain valve"
    OTHER = "other", "Other"


class Preparation(models.TextChoices):
    READY = "ready", "Ready to fit"
    PROGRAM = "program", "Program before fitting"


class NewId(models.TextChoices):
    NEW = "new", "A new id"
    COPIED = "copied", "The old id copied"
    BOTH = "both", "A new id, or the old one copied"


class Counted(models.TextChoices):
    EACH = "each", "By the piece"
    PACK = "pack", "By the pack"
    NOT = "not", "Not counted"


class CodeKind(models.TextChoices):
    MAKER = "maker", "Part maker's number"
    VEHICLE_MAKER = "vehicle_maker", "Vehicle maker's number"
    PRINTED = "printed", "Printed on the part"
    SUPPLIER = "supplier", "Supplier's number"
    GTIN = "gtin", "GTIN"
    LABEL = "label", "Our label"


class EvidenceKind(models.TextChoices):
    CONFIRMED = "confirmed", "Fitted and answered"
    CONTRADICTED = "contradicted", "Did not fit"
