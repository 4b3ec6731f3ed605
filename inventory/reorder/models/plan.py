"""The plan: one run, a line for each part at each site, and what the vehicles lead us to expect."""

from typing import Any, Self

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone

from inventory.reorder.models.offers import Supplier


class PlanStatus(models.TextChoices):
    WAITING = "waiting", "Waiting"
    RUNNING = "running", "Running"
    DONE = "done", "Done"
    FAILED = "failed", "Failed"


class PlanRun(models.Model):
    asked_at = models.DateTimeField(default=timezone.now)
    finished_at = models.DateTimeField(null=True, blank=True)
    as_of = models.DateField()
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    status = models.CharField(max_length=7, choices=PlanStatus.choices, default=PlanStatus.WAITING)
    words = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["-asked_at", "-pk"]

    def __str__(self) -> str:
        return f"Plan of {self.as_of}"


class PlanLineQuerySet(models.QuerySet["PlanLine"]):
    def to_order(self) -> Self:
        return self.filter(suggested_packs__gt=0)


class PlanLine(models.Model):
    """A snapshot of every figure behind one suggestion."""

    run = models.ForeignKey(PlanRun, on_delete=models.CASCADE, related_name="lines")
    part = models.ForeignKey("inventory.Part", on_delete=models.CASCADE)
    site = models.ForeignKey("inventory.Site", on_delete=models.CASCADE)
    supplier = models.ForeignKey(Supplier, on_delete=models.SET_NULL, null=True, blank=True)
    on_hand = models.IntegerField("available on the shelf")
    on_order = models.IntegerField()
    held = models.IntegerField()
    owed = models.IntegerField("promised and not here")
    asks = models.FloatField("asks a week")
    size_mean = models.FloatField("pieces an ask")
    lead_days = models.FloatField("mean wait, days")
    reorder_point = models.IntegerField()
    order_quantity = models.IntegerField()
    target = models.FloatField()
    job_fill = models.FloatField(null=True)
    unit_fill = models.FloatField(null=True)
    ready_rate = models.FloatField(null=True)
    mean_on_hand = models.FloatField(null=True)
    pack = models.PositiveIntegerField(default=1)
    pack_price_cents = models.PositiveIntegerField(null=True)
    suggested_packs = models.PositiveIntegerField(default=0)
    words = models.CharField("what to know", max_length=200, blank=True)
    figures: models.JSONField[Any, Any] = models.JSONField(default=dict)

    objects = PlanLineQuerySet.as_manager()

    class Meta:
        ordering = ["run", "supplier", "part"]
        constraints = [
            models.UniqueConstraint(fields=["run", "part", "site"], name="plan_line_once")
        ]

    def __str__(self) -> str:
        return f"{self.part} at {self.site}"


class ExpectedAsk(models.Model):
    """What the vehicles lead us to expect in one week; a prior for parts with thin history."""

    part = models.ForeignKey("inventory.Part", on_delete=models.CASCADE)
    site = models.ForeignKey("inventory.Site", on_delete=models.CASCADE)
    week = models.DateField("week (Monday)")
    mean = models.FloatField()
    variance = models.FloatField()

    class Meta:
        ordering = ["part", "site", "week"]
        constraints = [
            models.UniqueConstraint(fields=["part", "site", "week"], name="expected_ask_once"),
            models.CheckConstraint(
                condition=Q(mean__gte=0) & Q(variance__gte=0), name="expected_ask_not_negative"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.part} in the week of {self.week}"
