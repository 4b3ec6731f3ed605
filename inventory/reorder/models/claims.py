"""What failed and goes back to its supplier, and what the supplier answered."""

from typing import Self

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from inventory.reorder.models.offers import Supplier


class ClaimStatus(models.TextChoices):
    OPEN = "open", "To send"
    SENT = "sent", "Sent"
    CREDITED = "credited", "Credited"
    REFUSED = "refused", "Refused"


class ClaimQuerySet(models.QuerySet["Claim"]):
    def to_send(self) -> Self:
        """Claims still in the shop, those that lapse first at the top."""
        return self.filter(status=ClaimStatus.OPEN).order_by(
            F("claim_by").asc(nulls_last=True), "pk"
        )

    def shown(self, status: str) -> Self:
        """Claims in one state, what is to be done first at the top."""
        if status == ClaimStatus.OPEN:
            return self.to_send()
        if status == ClaimStatus.SENT:
            return self.filter(status=status).order_by("sent_on", "pk")
        return self.filter(status=status).order_by("-settled_on", "-pk")

    def for_claim_list(self) -> Self:
        return self.select_related("part", "supplier")


class Claim(models.Model):
    """A failed part on its way back to the supplier, and what came of it."""

    key = models.CharField("claim", max_length=24, unique=True)
    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, related_name="claims")
    part = models.ForeignKey("inventory.Part", on_delete=models.PROTECT)
    lot = models.ForeignKey(
        "inventory.Lot", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    job_key = models.CharField("job on which it failed", max_length=40, blank=True)
    fitted_by_job_key = models.CharField("job that fitted it", max_length=40, blank=True)
    fitted_on = models.DateField(null=True, blank=True)
    failed_on = models.DateField()
    odometer_km = models.PositiveIntegerField("odometer, km", null=True, blank=True)
    printed_code = models.CharField(max_length=40, blank=True)
    claim_by = models.DateField(null=True, blank=True)
    status = models.CharField(max_length=8, choices=ClaimStatus.choices, default=ClaimStatus.OPEN)
    credit_cents = models.PositiveIntegerField(default=0)
    sent_on = models.DateField(null=True, blank=True)
    settled_on = models.DateField(null=True, blank=True)
    words = models.CharField("what the supplier said", max_length=200, blank=True)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    objects = ClaimQuerySet.as_manager()

    class Meta:
        ordering = ["-failed_on", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(credit_cents=0) | Q(status="credited"),
                name="claim_credit_when_credited",
                violation_error_message="Only a credited claim carries a credit.",
            ),
            models.CheckConstraint(
                condition=Q(status__in=["open", "sent"]) | ~Q(settled_on=None),
                name="claim_settled_has_its_day",
                violation_error_message="A settled claim needs the day it was settled.",
            ),
        ]

    def __str__(self) -> str:
        return self.key

    @property
    def is_settled(self) -> bool:
        return self.settled_on is not None
