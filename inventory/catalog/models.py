"""What vehicles need and which parts exist: applications, parts, their codes, and which fits which.

Stock is the ledger's; prices asked by suppliers are the reorder subject's.
"""

from datetime import date
from typing import Self

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from inventory.catalog.codes import normalised


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


class ApplicationQuerySet(models.QuerySet["Application"]):
    def covering(self, year: int) -> Self:
        return self.filter(year_from__lte=year, year_to__gte=year)

    def built_in(self, month: date) -> Self:
        """Applications whose built-from and built-to months, where given, admit this month."""
        return self.filter(
            Q(built_from=None) | Q(built_from__lte=month), Q(built_to=None) | Q(built_to__gte=month)
        )

    def drafts(self) -> Self:
        return self.filter(status=ApplicationStatus.DRAFT)


class Application(models.Model):
    """A make, model and span of years that takes the same sensors."""

    key = models.CharField("our key", max_length=40, unique=True)
    make = models.CharField(max_length=40)
    model = models.CharField(max_length=60)
    year_from = models.PositiveSmallIntegerField("first model year")
    year_to = models.PositiveSmallIntegerField("last model year")
    built_from = models.DateField("built from (month)", null=True, blank=True)
    built_to = models.DateField("built to (month)", null=True, blank=True)
    trim = models.CharField("trim", max_length=60, blank=True)
    wheel = models.CharField("wheel", max_length=60, blank=True)
    system = models.CharField(max_length=8, choices=System.choices, default=System.DIRECT)
    band = models.CharField(max_length=5, choices=Band.choices, blank=True)
    mounting = models.CharField(max_length=8, choices=Mounting.choices, blank=True)
    construction = models.CharField(
        max_length=9, choices=Construction.choices, default=Construction.UNKNOWN
    )
    hole = models.CharField("valve hole", max_length=3, choices=Hole.choices, blank=True)
    sensor_place = models.CharField("where the sensor sits", max_length=80, blank=True)
    sensors = models.PositiveSmallIntegerField(
        "sensors on the vehicle", default=4, validators=[MaxValueValidator(12)]
    )
    spare_has_sensor = models.BooleanField(default=False)
    placard_front_kpa = models.PositiveSmallIntegerField(null=True, blank=True)
    placard_rear_kpa = models.PositiveSmallIntegerField(null=True, blank=True)
    placard_spare_kpa = models.PositiveSmallIntegerField(null=True, blank=True)
    rated_weight_kg = models.PositiveIntegerField("gross weight rating, kg", null=True, blank=True)
    top_speed_kmh = models.PositiveSmallIntegerField("top speed, km/h", null=True, blank=True)
    wheel_nut_torque_cnm = models.PositiveIntegerField(
        "wheel nut torque, cN·m", null=True, blank=True
    )
    ids_stored = models.PositiveSmallIntegerField("ids the vehicle stores", null=True, blank=True)
    relearn = models.CharField("re-learn", max_length=10, choices=Relearn.choices, blank=True)
    relearn_minutes = models.PositiveSmallIntegerField(null=True, blank=True)
    relearn_steps = models.TextField("re-learn steps, in the shop's words", blank=True)
    relearn_source = models.CharField("where the steps come from", max_length=120, blank=True)
    status = models.CharField(
        max_length=7, choices=ApplicationStatus.choices, default=ApplicationStatus.CHECKED
    )
    source = models.CharField("where these facts come from", max_length=120, blank=True)
    source_date = models.DateField(null=True, blank=True)
    # What the search looks through first, by exact match and prefix: make, model and trim.
    search_key = models.CharField(
        max_length=170, editable=False, blank=True, default="", db_index=True
    )

    objects = ApplicationQuerySet.as_manager()

    class Meta:
        ordering = ["make", "model", "year_from", "built_from", "key"]
        indexes = [models.Index(fields=["make", "model", "year_from"])]
        constraints = [
            models.CheckConstraint(
                condition=Q(year_from__lte=F("year_to")),
                name="application_years_in_order",
                violation_error_message="The first model year comes after the last; swap them.",
            ),
            models.CheckConstraint(
                condition=Q(built_from=None) | Q(built_to=None) | Q(built_from__lte=F("built_to")),
                name="application_built_in_order",
                violation_error_message="“Built from” comes after “built to”; swap them.",
            ),
            models.CheckConstraint(
                condition=Q(system="indirect", band="") | Q(system="direct"),
                name="application_indirect_has_no_band",
                violation_error_message="An indirect system has no sensor in the wheel; "
                "leave the band blank.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.years} {self.make} {self.model} {self.trim}".rstrip()

    def clean(self) -> None:
        self.search_key = normalised(f"{self.make}{self.model}{self.trim}")

    @property
    def years(self) -> str:
        first, last = self.year_from, self.year_to
        return str(first) if first == last else f"{first}–{last}"

    @property
    def is_direct(self) -> bool:
        return self.system == System.DIRECT

    def placard_kpa(self, axle: str) -> int | None:
        return {
            Axle.FRONT: self.placard_front_kpa,
            Axle.REAR: self.placard_rear_kpa,
            Axle.SPARE: self.placard_spare_kpa,
        }.get(Axle(axle), self.placard_front_kpa)


class PartQuerySet(models.QuerySet["Part"]):
    def known_as(self, code: str) -> Self:
        """Parts with this code: their number, or any code of theirs, compared normalised."""
        key = normalised(code)
        return self.filter(Q(number_key=key) | Q(codes__code_key=key)).distinct()

    def on_band(self, band: str) -> Self:
        return self.filter(**{f"band_{band}": True})

    def counted(self) -> Self:
        return self.exclude(counted=Counted.NOT)


class Part(models.Model):
    number = models.CharField("number", max_length=40)
    number_key = models.CharField(max_length=40, unique=True, editable=False, blank=True)
    kind = models.CharField(max_length=11, choices=PartKind.choices)
    maker = models.CharField("made by", max_length=60, blank=True)
    words = models.CharField("description", max_length=120, blank=True)
    band_315 = models.BooleanField("315 MHz", default=False)
    band_433 = models.BooleanField("433 MHz", default=False)
    band_other = models.BooleanField("another band", default=False)
    mounting = models.CharField(max_length=8, choices=Mounting.choices, blank=True)
    hole = models.CharField("valve hole", max_length=3, choices=Hole.choices, blank=True)
    rated_pressure_kpa = models.PositiveSmallIntegerField(
        "rated pressure, kPa", null=True, blank=True
    )
    construction = models.CharField(
        max_length=9, choices=Construction.choices, default=Construction.UNKNOWN
    )
    universal = models.BooleanField("universal (for many vehicles)", default=False)
    preparation = models.CharField(
        max_length=7, choices=Preparation.choices, default=Preparation.READY
    )
    preparation_minutes = models.PositiveSmallIntegerField(default=0)
    new_id = models.CharField("id", max_length=6, choices=NewId.choices, default=NewId.NEW)
    # Torque belongs to the sensor, not to the vehicle: blank means "look it up", never a default.
    valve_nut_torque_cnm = models.PositiveIntegerField("valve nut, cN·m", null=True, blank=True)
    body_screw_torque_cnm = models.PositiveIntegerField("body screw, cN·m", null=True, blank=True)
    core_torque_cnm = models.PositiveIntegerField("valve core, cN·m", null=True, blank=True)
    list_price_cents = models.PositiveIntegerField("list price", null=True, blank=True)
    shelf_life_months = models.PositiveSmallIntegerField(
        null=True, blank=True, validators=[MinValueValidator(1)]
    )
    counted = models.CharField(max_length=4, choices=Counted.choices, default=Counted.EACH)

    objects = PartQuerySet.as_manager()

    class Meta:
        ordering = ["number"]
        indexes = [models.Index(fields=["kind", "number_key"])]
        constraints = [
            models.CheckConstraint(
                condition=~Q(kind__in=["body", "assembly"])
                | Q(band_315=True)
                | Q(band_433=True)
                | Q(band_other=True),
                name="part_sensor_has_a_band",
                violation_error_message="A sensor body or assembly needs at least one radio band.",
            ),
        ]

    def __str__(self) -> str:
        return self.number

    def clean(self) -> None:
        self.number_key = normalised(self.number)
        if not self.number_key:
            raise ValidationError({"number": "A part number needs a letter or a digit."})

    @property
    def bands(self) -> tuple[Band, ...]:
        return tuple(band for band in Band if getattr(self, f"band_{band.value}"))

    @property
    def title(self) -> str:
        return f"{self.number} {self.words or self.get_kind_display().lower()}"


class SellingPrice(models.Model):
    """The shop's own price of a part, from a day on."""

    part = models.ForeignKey(Part, on_delete=models.CASCADE, related_name="selling_prices")
    valid_from = models.DateField()
    price_cents = models.PositiveIntegerField()

    class Meta:
        ordering = ["part", "-valid_from"]
        constraints = [
            models.UniqueConstraint(
                fields=["part", "valid_from"],
                name="selling_price_once_a_day",
                violation_error_message="This part already has a price from this day; "
                "edit that one.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.part} from {self.valid_from}"


class PartCode(models.Model):
    """Any code by which a part is known. One code may name several parts, save GTIN and label."""

    part = models.ForeignKey(Part, on_delete=models.CASCADE, related_name="codes")
    kind = models.CharField(max_length=13, choices=CodeKind.choices)
    code = models.CharField(max_length=60)
    code_key = models.CharField(max_length=60, editable=False, blank=True, db_index=True)

    class Meta:
        ordering = ["part", "kind", "code"]
        constraints = [
            models.UniqueConstraint(
                fields=["part", "kind", "code_key"],
                name="part_code_once_per_part",
                violation_error_message="This part already has this code.",
            ),
            models.UniqueConstraint(
                fields=["kind", "code_key"],
                condition=Q(kind__in=["gtin", "label"]),
                name="part_code_gtin_and_label_once",
                violation_error_message="Another part has this GTIN or label; check the code.",
            ),
        ]

    def __str__(self) -> str:
        return self.code

    def clean(self) -> None:
        self.code_key = normalised(self.code)
        if not self.code_key:
            raise ValidationError({"code": "A code needs a letter or a digit."})


class MadeOf(models.Model):
    """An assembly is a body, a stem and a kit; a kit is its pieces."""

    whole = models.ForeignKey(Part, on_delete=models.CASCADE, related_name="pieces")
    piece = models.ForeignKey(Part, on_delete=models.PROTECT, related_name="wholes")
    quantity = models.PositiveSmallIntegerField(default=1, validators=[MinValueValidator(1)])

    class Meta:
        ordering = ["whole", "piece"]
        constraints = [
            models.UniqueConstraint(
                fields=["whole", "piece"],
                name="made_of_once",
                violation_error_message="This piece is already listed; change its quantity.",
            ),
            models.CheckConstraint(
                condition=~Q(whole=F("piece")),
                name="made_of_not_itself",
                violation_error_message="A part cannot be made of itself.",
            ),
            models.CheckConstraint(
                condition=Q(quantity__gte=1),
                name="made_of_at_least_one",
                violation_error_message="A part is made of at least one of each piece.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.whole}: {self.quantity} × {self.piece}"


class Fitment(models.Model):
    """This part serves this application, in the role of its own kind, on these wheels."""

    application = models.ForeignKey(Application, on_delete=models.CASCADE, related_name="fitments")
    part = models.ForeignKey(Part, on_delete=models.CASCADE, related_name="fitments")
    axle = models.CharField(max_length=5, choices=Axle.choices, default=Axle.ALL)
    rank = models.PositiveSmallIntegerField(
        "preference", default=1, help_text="1 is offered first."
    )
    quantity = models.PositiveSmallIntegerField(
        "quantity per wheel", default=1, validators=[MinValueValidator(1)]
    )
    prepared_as = models.CharField("programmed as", max_length=80, blank=True)

    class Meta:
        ordering = ["application", "rank", "part"]
        constraints = [
            models.UniqueConstraint(
                fields=["application", "part", "axle"],
                name="fitment_once",
                violation_error_message="This part is already listed for these wheels.",
            ),
            models.CheckConstraint(
                condition=Q(quantity__gte=1),
                name="fitment_at_least_one",
                violation_error_message="A wheel takes at least one.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.part} on {self.application}"


class EvidenceKind(models.TextChoices):
    CONFIRMED = "confirmed", "Fitted and answered"
    CONTRADICTED = "contradicted", "Did not fit"


class Evidence(models.Model):
    """What a job taught about a part on an application. The catalogue itself stays as it is."""

    application = models.ForeignKey(Application, on_delete=models.CASCADE, related_name="evidence")
    part = models.ForeignKey(Part, on_delete=models.CASCADE, related_name="evidence")
    kind = models.CharField(max_length=12, choices=EvidenceKind.choices)
    built_month = models.DateField(null=True, blank=True)
    job_key = models.CharField("job", max_length=40)
    reason = models.CharField(max_length=200, blank=True)
    at = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    settled = models.BooleanField("decided by the parts manager", default=False)

    class Meta:
        ordering = ["-at"]
        verbose_name_plural = "evidence"
        constraints = [
            models.UniqueConstraint(
                fields=["application", "part", "job_key", "kind"],
                name="evidence_once_per_job",
                violation_error_message="This job has already said so.",
            ),
            models.CheckConstraint(
                condition=Q(kind="confirmed") | ~Q(reason=""),
                name="evidence_contradiction_has_a_reason",
                violation_error_message="Say why the part did not fit.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.part} on {self.application}: {self.get_kind_display()}"


class Supersession(models.Model):
    old = models.ForeignKey(Part, on_delete=models.CASCADE, related_name="superseded_by")
    new = models.ForeignKey(Part, on_delete=models.CASCADE, related_name="supersedes")
    both_ways = models.BooleanField("the old one also replaces the new", default=False)
    since = models.DateField(null=True, blank=True)
    note = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["old", "new"]
        constraints = [
            models.UniqueConstraint(
                fields=["old", "new"],
                name="supersession_once",
                violation_error_message="This supersession is already listed.",
            ),
            models.CheckConstraint(
                condition=~Q(old=F("new")),
                name="supersession_not_itself",
                violation_error_message="A part cannot supersede itself.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.old} → {self.new}"


class VinPattern(models.Model):
    """First eight characters of a VIN and a model year, seen on vehicles of this application."""

    start = models.CharField("first eight characters", max_length=8)
    year = models.PositiveSmallIntegerField()
    application = models.ForeignKey(
        Application, on_delete=models.CASCADE, related_name="vin_patterns"
    )
    vehicles = models.PositiveIntegerField("vehicles seen", default=1)

    class Meta:
        ordering = ["start", "year", "-vehicles"]
        constraints = [
            models.UniqueConstraint(
                fields=["start", "year", "application"],
                name="vin_pattern_once",
                violation_error_message="This pattern is already known.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.start} {self.year}"
