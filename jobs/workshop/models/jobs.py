"""Jobs: what was asked for, done, sold, agreed and declined.

What a job earned is computed in costing; what to do on a wheel is advised in replacement.
"""

from datetime import date
from typing import Self

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Exists, F, OuterRef, Q, Sum
from django.db.models.functions import Coalesce
from django.utils import timezone

from inventory.action_form import new_key
from inventory.shop.models import Site
from jobs.workshop.models.vehicles import Account, Vehicle
from jobs.workshop.models.wheels import Wheel


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

    def at(self, site: Site) -> Self:
        return self.filter(site=site)

    def booked(self) -> Self:
        """Open and awaited on a day, soonest first."""
        return self.open().exclude(booked_for=None).order_by("booked_for", "pk")

    def in_hand(self) -> Self:
        """Open, and the vehicle is here."""
        return self.open().filter(booked_for=None)

    def with_total(self) -> Self:
        """What the customer is asked for; lines someone else pays are left out."""
        theirs = Q(lines__payer__in=[Payer.CUSTOMER, Payer.ACCOUNT])
        return self.annotate(total_cents=Coalesce(Sum("lines__price_cents", filter=theirs), 0))

    def for_list(self) -> Self:
        return self.select_related(
            "site", "vehicle__application", "account", "technician", "comeback_of"
        )

    def closed_between(self, first: date, last: date) -> Self:
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
    pressures_set_cold = models.BooleanField("all pressures set cold and read back", default=False)
    wheel_nuts_tightened = models.BooleanField(
        "wheel nuts tightened to the maker's torque", default=False
    )
    road_checked = models.BooleanField("driven, and the lamp stayed off", default=False)
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


class WheelAction(models.TextChoices):
    LEAVE = "leave", "Leave as it is"
    CORE = "core", "Valve core only"
    RESEAL = "reseal", "Replace the service kit"
    BODY = "body", "Replace the sensor body"
    STEM = "stem", "Replace the stem"
    ASSEMBLY = "assembly", "Replace the whole assembly"
    RELEARN = "relearn", "Re-learn only"
    PLAIN_VALVE = "plain_valve", "Fit a plain valve"


class DeclinedQuerySet(models.QuerySet["Declined"]):
    def waiting_for(self, job: Job) -> Self:
        """Declined on earlier jobs of this vehicle and not done since; the latest first."""
        done_since = JobLine.objects.filter(
            wheel=OuterRef("wheel"),
            action=OuterRef("action"),
            job__opened_at__gt=OuterRef("job__opened_at"),
        )
        earlier = self.filter(job__vehicle=job.vehicle, job__opened_at__lt=job.opened_at)
        return (
            earlier.exclude(Exists(done_since))
            .select_related("job__site", "wheel", "part")
            .order_by("-at", "-pk")
        )


class Approval(models.Model):
    """What the customer agreed to, by whom, how and when."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="approvals")
    lines = models.CharField("what was agreed", max_length=300)
    who = models.CharField("agreed by", max_length=80, blank=True)
    how = models.CharField("how (in person, phone, message)", max_length=40, blank=True)
    at = models.DateTimeField(default=timezone.now)
    decides_safety = models.BooleanField(
        "decides to let the vehicle leave with a sensor missing or not working", default=False
    )
    wheel = models.ForeignKey(
        Wheel,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
        verbose_name="wheel that this decides about (blank: every one)",
    )
    above_limit = models.BooleanField("of the account, to go above its limit", default=False)

    class Meta:
        ordering = ["job", "at"]
        constraints = [
            models.UniqueConstraint(
                fields=["job", "at"],
                name="approval_once_an_instant",
                violation_error_message="This approval is already written down.",
            )
        ]

    def __str__(self) -> str:
        return self.lines


class Declined(models.Model):
    """What the customer did not want, and why; shown at the next visit."""

    key = models.CharField("our key", max_length=36, unique=True, default=new_key)
    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="declined")
    wheel = models.ForeignKey(Wheel, on_delete=models.CASCADE, null=True, blank=True)
    action = models.CharField(max_length=11, choices=WheelAction.choices)
    part = models.ForeignKey("inventory.Part", on_delete=models.PROTECT, null=True, blank=True)
    price_cents = models.PositiveIntegerField(null=True, blank=True)
    why = models.CharField(max_length=200)
    for_price = models.BooleanField("because of the price", default=False)
    who = models.CharField("declined by", max_length=80, blank=True)
    at = models.DateTimeField(default=timezone.now)

    objects = DeclinedQuerySet.as_manager()

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

    key = models.CharField("line", max_length=36, unique=True, default=new_key)
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
