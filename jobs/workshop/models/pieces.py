"""The life of each sensor body, stem and seal: on which wheel, from when, and how it ended."""

from typing import Self

from django.db import models
from django.db.models import F, Q

from inventory.action_form import new_key
from inventory.catalog.models import PartKind
from jobs.workshop.models.wheels import Wheel


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

    def sensor_pieces(self) -> Self:
        """Pieces of sensors: a plain valve is no sensor's stem and carries no body."""
        return self.exclude(part__kind=PartKind.PLAIN_VALVE)


class Fitted(models.Model):
    """One body, stem or seal on one wheel, from–to.

    A piece moved to another rim begins a new row that continues the old one, and keeps its age.
    The body and stem of a one-piece sensor are two rows joined: one fails, the other is censored.
    """

    key = models.CharField("our key", max_length=36, unique=True, default=new_key)
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
