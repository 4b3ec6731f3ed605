"""What was done to which vehicle, and what it showed: vehicles, wheels, lives of parts, jobs.

A wheel is known by its own history, never by where it stands or by the id of its sensor. What a
job earned is computed in costing; what to do on a wheel is advised in replacement.
"""

from typing import Self

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from inventory.catalog.codes import normalised
from inventory.catalog.models import Band, Hole


class Account(models.Model):
    """A fleet or trade customer: many vehicles, one who approves."""

    name = models.CharField(max_length=80, unique=True)
    order_number_needed = models.BooleanField("wants its order number on every job", default=False)
    approver = models.CharField(max_length=80, blank=True)
    limit_cents = models.PositiveIntegerField("approve above", null=True, blank=True)
    discount_per_mille = models.PositiveSmallIntegerField(
        "discount on prices, per mille", default=0, validators=[MaxValueValidator(1000)]
    )
    policy = models.CharField("what this account wants", max_length=200, blank=True)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class Keeper(models.Model):
    """Whoever brings the vehicle. Name and phone can be erased; the vehicle's history stays."""

    key = models.CharField("our key", max_length=24, unique=True)
    name = models.CharField(max_length=80, blank=True)
    phone = models.CharField(max_length=40, blank=True)
    erased_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["key"]

    def __str__(self) -> str:
        return self.name or "name erased"


class BuiltKnown(models.TextChoices):
    LABEL = "label", "Door label"
    TOLD = "told", "Told by the keeper"
    GUESSED = "guessed", "From the model year"


class VehicleQuerySet(models.QuerySet["Vehicle"]):
    def known_as(self, text: str) -> Self:
        """By VIN, plate or unit number, compared normalised."""
        key = normalised(text)
        return self.filter(Q(vin=key) | Q(plate_key=key) | Q(unit_number__iexact=text.strip()))


class Vehicle(models.Model):
    key = models.CharField("our key", max_length=24, unique=True)
    vin = models.CharField("VIN", max_length=17, blank=True, db_index=True)
    plate = models.CharField(max_length=16, blank=True)
    plate_key = models.CharField(max_length=16, blank=True, editable=False, db_index=True)
    application = models.ForeignKey(
        "inventory.Application", on_delete=models.PROTECT, null=True, blank=True
    )
    model_year = models.PositiveSmallIntegerField(null=True, blank=True)
    built_month = models.DateField("built in (month)", null=True, blank=True)
    built_known = models.CharField(max_length=7, choices=BuiltKnown.choices, blank=True)
    in_service_on = models.DateField("in service since", null=True, blank=True)
    keeper = models.ForeignKey(
        Keeper, on_delete=models.SET_NULL, null=True, blank=True, related_name="vehicles"
    )
    account = models.ForeignKey(
        Account, on_delete=models.PROTECT, null=True, blank=True, related_name="vehicles"
    )
    unit_number = models.CharField(max_length=20, blank=True)
    pressure_set_kpa = models.PositiveSmallIntegerField(
        "pressure really set, kPa",
        null=True,
        blank=True,
        help_text="Where it is above the placard, as on a loaded van.",
    )

    objects = VehicleQuerySet.as_manager()

    class Meta:
        ordering = ["key"]
        constraints = [
            models.UniqueConstraint(
                fields=["vin"],
                condition=~Q(vin=""),
                name="vehicle_vin_once",
                violation_error_message="Another vehicle has this VIN; open that one.",
            )
        ]

    def __str__(self) -> str:
        return self.plate or self.unit_number or self.key

    def clean(self) -> None:
        self.vin = normalised(self.vin)
        self.plate_key = normalised(self.plate)


class WheelSet(models.Model):
    """Wheels that are mounted and stored together, such as the winter set."""

    vehicle = models.ForeignKey(Vehicle, on_delete=models.CASCADE, related_name="wheel_sets")
    name = models.CharField(max_length=40)
    stored_where = models.CharField(max_length=60, blank=True)

    class Meta:
        ordering = ["vehicle", "name"]
        constraints = [
            models.UniqueConstraint(
                fields=["vehicle", "name"],
                name="wheel_set_once_per_vehicle",
                violation_error_message="This vehicle already has a set of this name.",
            )
        ]

    def __str__(self) -> str:
        return self.name


class WheelKind(models.TextChoices):
    BUILT = "built", "As built"
    REPLACEMENT = "replacement", "Replacement wheel"
    OWN = "own", "Customer's own choice"


class Wheel(models.Model):
    key = models.CharField("our key", max_length=28, unique=True)
    vehicle = models.ForeignKey(Vehicle, on_delete=models.CASCADE, related_name="wheels")
    wheel_set = models.ForeignKey(
        WheelSet, on_delete=models.SET_NULL, null=True, blank=True, related_name="wheels"
    )
    kind = models.CharField(max_length=11, choices=WheelKind.choices, default=WheelKind.BUILT)
    hole = models.CharField("valve hole", max_length=3, choices=Hole.choices, blank=True)
    tire_size = models.CharField(max_length=24, blank=True)
    tire_date_code = models.CharField(
        "tire date code", max_length=4, blank=True, help_text="Week and year as molded: WWYY."
    )
    tread_tenths_mm = models.PositiveSmallIntegerField("tread, 0.1 mm", null=True, blank=True)
    tire_fitted_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["vehicle", "key"]

    def __str__(self) -> str:
        return self.key


class IdOrigin(models.TextChoices):
    FACTORY = "factory", "Factory"
    NEW = "new", "New sensor"
    COPIED = "copied", "Copied from the old sensor"


class WheelId(models.Model):
    """The id a wheel answered with, from–to. Copies repeat, so an id alone names no wheel."""

    wheel = models.ForeignKey(Wheel, on_delete=models.CASCADE, related_name="ids")
    sensor_id = models.CharField("sensor id (hex)", max_length=16, db_index=True)
    origin = models.CharField(max_length=7, choices=IdOrigin.choices)
    since = models.DateField()
    until = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["wheel", "since"]
        constraints = [
            models.UniqueConstraint(
                fields=["wheel"],
                condition=Q(until=None),
                name="wheel_id_one_now",
                violation_error_message="This wheel already has an id; end that one first.",
            ),
            models.CheckConstraint(
                condition=Q(until=None) | Q(since__lte=F("until")),
                name="wheel_id_in_order",
                violation_error_message="An id cannot end before it begins.",
            ),
        ]

    def __str__(self) -> str:
        return self.sensor_id


class Position(models.TextChoices):
    FRONT_LEFT = "front_left", "Front left"
    FRONT_RIGHT = "front_right", "Front right"
    REAR_LEFT = "rear_left", "Rear left"
    REAR_RIGHT = "rear_right", "Rear right"
    SPARE = "spare", "Spare"
    STORED = "stored", "Stored"


class PlaceQuerySet(models.QuerySet["Place"]):
    def now(self) -> Self:
        return self.filter(until=None)

    def mounted(self) -> Self:
        return self.exclude(position=Position.STORED)


class Place(models.Model):
    """Where a wheel stood, from–to."""

    wheel = models.ForeignKey(Wheel, on_delete=models.CASCADE, related_name="places")
    position = models.CharField(max_length=11, choices=Position.choices)
    since = models.DateField()
    until = models.DateField(null=True, blank=True)

    objects = PlaceQuerySet.as_manager()

    class Meta:
        ordering = ["wheel", "since"]
        constraints = [
            models.UniqueConstraint(
                fields=["wheel"],
                condition=Q(until=None),
                name="place_one_now",
                violation_error_message="This wheel already stands somewhere; move it from there.",
            ),
            models.CheckConstraint(
                condition=Q(until=None) | Q(since__lte=F("until")),
                name="place_in_order",
                violation_error_message="A wheel cannot leave before it came.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.wheel} {self.get_position_display().lower()}"


class PieceKind(models.TextChoices):
    BODY = "body", "Sensor body"
    STEM = "stem", "Stem"
    SEAL = "seal", "Seal"


class SinceKnown(models.TextChoices):
    FITTED = "fitted", "Fitted by us"
    FACTORY = "factory", "Factory fitted: since the vehicle's first day"
    TOLD = "told", "Told by the keeper"
    GUESSED = "guessed", "Guessed"


class EndReason(models.TextChoices):
    SILENT = "silent", "Silent"
    WEAK_BATTERY = "weak_battery", "Weak battery"
    LEAKING = "leaking", "Leaking"
    PERISHED = "perished", "Rubber perished"
    CORRODED = "corroded", "Corroded"
    DAMAGED = "damaged", "Damaged on the road"
    BROKEN_BY_US = "broken_by_us", "Broken by us"
    REPLACED_GOOD = "replaced_good", "Replaced while good"
    MOVED = "moved", "Moved to another wheel"
    UNKNOWN = "unknown", "Not known"

    @classmethod
    def wear(cls) -> list["EndReason"]:
        """The reasons that count as the part wearing out; the others only end the watch."""
        return [cls.SILENT, cls.WEAK_BATTERY, cls.LEAKING, cls.PERISHED, cls.CORRODED]


class FittedQuerySet(models.QuerySet["Fitted"]):
    def now(self) -> Self:
        return self.filter(ended_on=None)


class Fitted(models.Model):
    """One body, stem or seal on one wheel, from–to.

    A piece moved to another rim begins a new row that continues the old one, and keeps its age.
    The body and stem of a one-piece sensor are two rows joined: one fails, the other is censored.
    """

    key = models.CharField("our key", max_length=36, unique=True)
    wheel = models.ForeignKey(Wheel, on_delete=models.CASCADE, related_name="fitted")
    kind = models.CharField(max_length=4, choices=PieceKind.choices)
    part = models.ForeignKey("inventory.Part", on_delete=models.PROTECT, null=True, blank=True)
    lot = models.ForeignKey("inventory.Lot", on_delete=models.PROTECT, null=True, blank=True)
    printed_code = models.CharField("code printed on it", max_length=40, blank=True)
    since = models.DateField("from")
    since_known = models.CharField("how known", max_length=7, choices=SinceKnown.choices)
    first_seen_on = models.DateField()
    last_good_on = models.DateField(null=True, blank=True)
    ended_on = models.DateField(null=True, blank=True)
    end_reason = models.CharField(max_length=13, choices=EndReason.choices, blank=True)
    continues = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="continued_by"
    )
    joined_with = models.OneToOneField(
        "self", on_delete=models.SET_NULL, null=True, blank=True, related_name="joined_by"
    )
    by_job = models.ForeignKey(
        "jobs.Job", on_delete=models.PROTECT, null=True, blank=True, related_name="fitted"
    )
    ended_by_job = models.ForeignKey(
        "jobs.Job", on_delete=models.PROTECT, null=True, blank=True, related_name="taken_off"
    )

    objects = FittedQuerySet.as_manager()

    class Meta:
        ordering = ["wheel", "kind", "since"]
        constraints = [
            models.UniqueConstraint(
                fields=["wheel", "kind"],
                condition=Q(ended_on=None),
                name="fitted_one_of_a_kind_now",
                violation_error_message="This wheel already has one; end that one first.",
            ),
            models.CheckConstraint(
                condition=Q(ended_on=None, end_reason="")
                | (Q(ended_on__gte=F("since")) & ~Q(end_reason="")),
                name="fitted_ends_with_a_reason",
                violation_error_message="Say when it ended and why; it cannot end before it began.",
            ),
            models.CheckConstraint(
                condition=Q(first_seen_on__gte=F("since")),
                name="fitted_seen_after_fitted",
                violation_error_message="A part cannot be seen before it was fitted.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} on {self.wheel} since {self.since}"


class JobKind(models.TextChoices):
    SENSOR = "sensor", "Sensor job"
    TIRE_CHANGE = "tire_change", "Tire change"
    RELEARN = "relearn", "Re-learn only"
    OTHER = "other", "Other"


class Lamp(models.TextChoices):
    OFF = "off", "Off"
    STEADY = "steady", "Steady: low tire"
    FLASHES = "flashes", "Flashes, then steady: sensor or system fault"
    FAULT_LAMP = "fault_lamp", "Separate fault lamp"
    MESSAGE = "message", "Message in the display"


class Cause(models.TextChoices):
    PART_FAILED = "part_failed", "The part failed"
    OUR_WORK = "our_work", "Our work"
    WRONG_PART = "wrong_part", "Wrong part"
    NEW_FAULT = "new_fault", "A new fault"
    DAMAGE = "damage", "Damage"
    OTHER_SHOP = "other_shop", "Another shop's work"


class Payer(models.TextChoices):
    CUSTOMER = "customer", "Customer"
    US = "us", "Us"
    SUPPLIER = "supplier", "Supplier"
    ACCOUNT = "account", "Account"
    GOODWILL = "goodwill", "Goodwill"


class JobQuerySet(models.QuerySet["Job"]):
    def open(self) -> Self:
        return self.filter(closed_at=None)

    def closed_between(self, first: object, last: object) -> Self:
        """Closed on a site day from `first` up to and including `last`."""
        return self.filter(closed_on__gte=first, closed_on__lte=last)


class Job(models.Model):
    key = models.CharField("job", max_length=24, unique=True)
    site = models.ForeignKey("inventory.Site", on_delete=models.PROTECT)
    vehicle = models.ForeignKey(Vehicle, on_delete=models.PROTECT, related_name="jobs")
    kind = models.CharField(max_length=11, choices=JobKind.choices)
    booked_for = models.DateField(null=True, blank=True)
    opened_at = models.DateTimeField(default=timezone.now)
    closed_at = models.DateTimeField(null=True, blank=True)
    # The site's own day of closing: periods of the margin are days of the site.
    closed_on = models.DateField(null=True, blank=True, db_index=True)
    technician = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    odometer_km = models.PositiveIntegerField("odometer, km", null=True, blank=True)
    lamp_before = models.CharField(max_length=10, choices=Lamp.choices, blank=True)
    lamp_after = models.CharField(max_length=10, choices=Lamp.choices, blank=True)
    account = models.ForeignKey(Account, on_delete=models.PROTECT, null=True, blank=True)
    order_number = models.CharField("customer's order number", max_length=40, blank=True)
    comeback_of = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="comebacks"
    )
    cause = models.CharField(max_length=11, choices=Cause.choices, blank=True)
    payer = models.CharField(max_length=8, choices=Payer.choices, default=Payer.CUSTOMER)
    words = models.CharField("what was asked for", max_length=200, blank=True)
    left_open_reason = models.CharField(
        "why it was closed without all checks", max_length=200, blank=True
    )

    objects = JobQuerySet.as_manager()

    class Meta:
        ordering = ["-opened_at", "-pk"]
        indexes = [models.Index(fields=["vehicle", "opened_at"])]
        constraints = [
            models.CheckConstraint(
                condition=Q(closed_at=None, closed_on=None)
                | (Q(closed_at__gte=F("opened_at")) & ~Q(closed_on=None)),
                name="job_closes_after_it_opens",
                violation_error_message="A job cannot be closed before it was opened.",
            ),
            models.CheckConstraint(
                condition=Q(comeback_of=None) | ~Q(cause=""),
                name="job_comeback_has_a_cause",
                violation_error_message="A comeback needs its cause.",
            ),
        ]

    def __str__(self) -> str:
        return self.key

    @property
    def is_open(self) -> bool:
        return self.closed_at is None


class PlannedPart(models.Model):
    """A part this job is expected to need."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="planned_parts")
    part = models.ForeignKey("inventory.Part", on_delete=models.PROTECT)
    quantity = models.PositiveSmallIntegerField(default=1, validators=[MinValueValidator(1)])

    class Meta:
        ordering = ["job", "part"]
        constraints = [
            models.UniqueConstraint(
                fields=["job", "part"],
                name="planned_part_once",
                violation_error_message="This part is already planned; change its quantity.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.quantity} × {self.part}"


class Source(models.TextChoices):
    TOOL = "tool", "Trigger tool"
    GAUGE = "gauge", "Gauge"
    DASH = "dash", "Dash"


class Heard(models.TextChoices):
    ANSWERED = "answered", "Answered"
    SILENT = "silent", "Silent"
    WRONG_BAND = "wrong_band", "Answered in another band"
    PLAIN_VALVE = "plain_valve", "Plain valve, no sensor"
    TEMPORARY_SPARE = "temporary_spare", "Temporary spare"
    NOT_TRIED = "not_tried", "Not tried"


class Battery(models.TextChoices):
    GOOD = "good", "Good"
    WEAK = "weak", "Weak"
    NOT_TOLD = "not_told", "Not told"


class Reading(models.Model):
    """What one source said of one wheel on one job. The last of a source counts."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="readings")
    wheel = models.ForeignKey(Wheel, on_delete=models.CASCADE, related_name="readings")
    source = models.CharField(max_length=5, choices=Source.choices, default=Source.TOOL)
    tries = models.PositiveSmallIntegerField(default=1, validators=[MinValueValidator(1)])
    heard = models.CharField(max_length=15, choices=Heard.choices)
    pressure_kpa = models.PositiveSmallIntegerField("pressure, kPa", null=True, blank=True)
    temperature_c = models.SmallIntegerField("temperature, °C", null=True, blank=True)
    band = models.CharField(max_length=5, choices=Band.choices, blank=True)
    battery = models.CharField(max_length=8, choices=Battery.choices, default=Battery.NOT_TOLD)
    sensor_id = models.CharField("sensor id (hex)", max_length=16, blank=True)
    id_stored_in_vehicle = models.BooleanField("the vehicle knows this id", null=True, blank=True)
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["job", "wheel", "at", "pk"]

    def __str__(self) -> str:
        return f"{self.wheel}: {self.get_heard_display().lower()}"


class LeakAt(models.TextChoices):
    NONE = "none", "No leak"
    CORE = "core", "Valve core"
    SEAL = "seal", "Seal"
    STEM = "stem", "Stem"
    BEAD = "bead", "Bead"
    TREAD = "tread", "Tread"
    RIM = "rim", "Rim"


class StemCondition(models.TextChoices):
    SOUND = "sound", "Sound"
    PERISHED = "perished", "Rubber perished"
    CORRODED = "corroded", "Corroded"
    DAMAGED = "damaged", "Damaged"
    NOT_SEEN = "not_seen", "Not looked at"


class Inspection(models.Model):
    """What was seen on one wheel of one job, by eye and soap water."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="inspections")
    wheel = models.ForeignKey(Wheel, on_delete=models.CASCADE, related_name="inspections")
    tire_off = models.BooleanField("the tire comes off anyway", default=False)
    leak_at = models.CharField(max_length=5, choices=LeakAt.choices, default=LeakAt.NONE)
    stem = models.CharField(
        max_length=8, choices=StemCondition.choices, default=StemCondition.NOT_SEEN
    )
    sealant_inside = models.BooleanField(default=False)

    class Meta:
        ordering = ["job", "wheel"]
        constraints = [
            models.UniqueConstraint(
                fields=["job", "wheel"],
                name="inspection_once_per_wheel",
                violation_error_message="This wheel was inspected on this job; change that entry.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.wheel} on {self.job}"


class WheelAction(models.TextChoices):
    LEAVE = "leave", "Leave as it is"
    CORE = "core", "Valve core only"
    RESEAL = "reseal", "Replace the service kit"
    BODY = "body", "Replace the sensor body"
    STEM = "stem", "Replace the stem"
    ASSEMBLY = "assembly", "Replace the whole assembly"
    RELEARN = "relearn", "Re-learn only"
    PLAIN_VALVE = "plain_valve", "Fit a plain valve"


class AdviceGiven(models.Model):
    """The advice as it was shown, before the outcome was known; never changed afterwards."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="advice")
    wheel = models.ForeignKey(Wheel, on_delete=models.CASCADE, related_name="advice")
    at = models.DateTimeField(default=timezone.now)
    action = models.CharField(max_length=11, choices=WheelAction.choices)
    strength = models.CharField(max_length=8)
    because = models.CharField(max_length=300)
    sure_per_mille = models.PositiveSmallIntegerField("how sure, per mille", null=True)
    body_fails_per_mille = models.PositiveSmallIntegerField(
        "chance that the body fails before the next visit, per mille", null=True
    )
    horizon_days = models.PositiveIntegerField(null=True)
    taken = models.CharField("what was done", max_length=11, blank=True)
    taken_reason = models.CharField("why another action", max_length=200, blank=True)

    class Meta:
        ordering = ["job", "wheel", "-at"]

    def __str__(self) -> str:
        return f"{self.wheel}: {self.get_action_display().lower()}"


class Approval(models.Model):
    """What the customer agreed to, by whom, how and when."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="approvals")
    lines = models.CharField("what was agreed", max_length=300)
    who = models.CharField("agreed by", max_length=80, blank=True)
    how = models.CharField("how (in person, phone, message)", max_length=40, blank=True)
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["job", "at"]

    def __str__(self) -> str:
        return self.lines


class Declined(models.Model):
    """What the customer did not want, and why; shown at the next visit."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="declined")
    wheel = models.ForeignKey(Wheel, on_delete=models.CASCADE, null=True, blank=True)
    action = models.CharField(max_length=11, choices=WheelAction.choices)
    part = models.ForeignKey("inventory.Part", on_delete=models.PROTECT, null=True, blank=True)
    price_cents = models.PositiveIntegerField(null=True, blank=True)
    why = models.CharField(max_length=200)
    for_price = models.BooleanField("because of the price", default=False)
    who = models.CharField("declined by", max_length=80, blank=True)
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["job", "at"]
        verbose_name_plural = "declined"

    def __str__(self) -> str:
        return f"{self.get_action_display()}: {self.why}"


class LineKind(models.TextChoices):
    PART = "part", "Part"
    LABOUR = "labour", "Labour"
    OTHER = "other", "Other"


class JobLine(models.Model):
    """What the job sold. A part's cost is that of its posting; labour carries its own."""

    key = models.CharField("line", max_length=36, unique=True)
    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="lines")
    kind = models.CharField(max_length=6, choices=LineKind.choices)
    wheel = models.ForeignKey(Wheel, on_delete=models.SET_NULL, null=True, blank=True)
    action = models.CharField(max_length=11, choices=WheelAction.choices, blank=True)
    part = models.ForeignKey("inventory.Part", on_delete=models.PROTECT, null=True, blank=True)
    posting = models.ForeignKey(
        "inventory.Posting", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    words = models.CharField(max_length=120, blank=True)
    quantity = models.PositiveIntegerField("pieces or minutes", default=1)
    price_cents = models.PositiveIntegerField("price of the line", default=0)
    labour_cost_cents = models.PositiveIntegerField(default=0)
    payer = models.CharField(max_length=8, choices=Payer.choices, default=Payer.CUSTOMER)

    class Meta:
        ordering = ["job", "key"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(kind="part") | Q(part__isnull=False),
                name="job_line_part_named",
                violation_error_message="A part line needs its part.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.job} {self.words or self.part}"

    def clean(self) -> None:
        if self.kind == LineKind.PART and self.labour_cost_cents:
            raise ValidationError("A part line carries no labour cost; add a labour line.")
