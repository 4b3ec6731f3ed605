"""What was found on the wheels of a job, and the advice that was shown because of it."""

from django.core.validators import MinValueValidator
from django.db import models
from django.utils import timezone

from inventory.catalog.models import Band
from jobs.workshop.models.jobs import Job, WheelAction
from jobs.workshop.models.wheels import Wheel


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
        constraints = [
            models.UniqueConstraint(
                fields=["job", "wheel", "source", "at"],
                name="reading_once_an_instant",
                violation_error_message="This reading is already written down.",
            )
        ]

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
    seen_at = models.DateTimeField("when", null=True, blank=True)

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


class Strength(models.TextChoices):
    MUST = "must", "Must"
    OFFER = "offer", "Offer"
    LEAVE = "leave", "Leave"


class AdviceGiven(models.Model):
    """The advice as it was shown, before the outcome was known; never changed afterwards."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="advice")
    wheel = models.ForeignKey(Wheel, on_delete=models.CASCADE, related_name="advice")
    at = models.DateTimeField(default=timezone.now)
    action = models.CharField(max_length=11, choices=WheelAction.choices)
    strength = models.CharField(max_length=5, choices=Strength.choices)
    because = models.CharField(max_length=300)
    sure_per_mille = models.PositiveSmallIntegerField("how sure, per mille", null=True, blank=True)
    body_fails_per_mille = models.PositiveSmallIntegerField(
        "chance that the body fails before the next visit, per mille", null=True, blank=True
    )
    horizon_days = models.PositiveIntegerField(null=True, blank=True)
    taken = models.CharField(
        "what was done", max_length=11, choices=WheelAction.choices, blank=True
    )
    taken_reason = models.CharField("why another action", max_length=200, blank=True)

    class Meta:
        ordering = ["job", "wheel", "-at"]
        constraints = [
            models.UniqueConstraint(
                fields=["job", "wheel", "at"],
                name="advice_once_an_instant",
                violation_error_message="This advice is already written down.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.wheel}: {self.get_action_display().lower()}"
