"""Which part serves which application, and what jobs taught about it."""

from typing import Self

from django.conf import settings
from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils import timezone

from inventory.catalog.models.applications import Application
from inventory.catalog.models.parts import Part
from inventory.catalog.models.words import Axle, EvidenceKind


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


class EvidenceQuerySet(models.QuerySet["Evidence"]):
    def contradictions(self) -> Self:
        """Parts that did not fit, where the parts manager has not decided yet."""
        return self.filter(kind=EvidenceKind.CONTRADICTED, settled=False)

    def for_page(self) -> Self:
        return self.select_related("application", "part", "by")


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

    objects = EvidenceQuerySet.as_manager()

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
