"""Pieces promised to a job, and pieces on the road between sites."""

from typing import Self

from django.conf import settings
from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from inventory.ledger.models.postings import Posting
from inventory.ledger.models.stock import Shelf


class Borrowed(models.TextChoices):
    SEND_BACK = "send_back", "Borrowed: send back"
    KEEP = "keep", "Keep"


class TransferQuerySet(models.QuerySet["Transfer"]):
    def on_the_road(self) -> Self:
        return self.filter(received=None, sent__undone_by=None)

    def to_send_back(self) -> Self:
        """Borrowed, here, and not on the way back yet."""
        here = self.filter(borrowed=Borrowed.SEND_BACK, sent_back_by=None)
        return here.exclude(received=None)

    def for_transfer_list(self) -> Self:
        return self.select_related("part", "from_site", "to_site", "sent__by", "received")


class Transfer(models.Model):
    """Pieces on their way from one site to another; on nobody's shelf until received."""

    key = models.CharField(max_length=64, unique=True)
    part = models.ForeignKey("inventory.Part", on_delete=models.PROTECT, related_name="+")
    from_site = models.ForeignKey("inventory.Site", on_delete=models.PROTECT, related_name="+")
    to_site = models.ForeignKey("inventory.Site", on_delete=models.PROTECT, related_name="+")
    pieces = models.PositiveIntegerField(validators=[MinValueValidator(1)])
    sent = models.OneToOneField(Posting, on_delete=models.PROTECT, related_name="sent_transfer")
    received = models.OneToOneField(
        Posting, on_delete=models.PROTECT, null=True, blank=True, related_name="received_transfer"
    )
    borrowed = models.CharField(max_length=9, choices=Borrowed.choices, default=Borrowed.KEEP)
    sends_back = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="sent_back_by"
    )

    objects = TransferQuerySet.as_manager()

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(from_site=F("to_site")),
                name="transfer_between_two_sites",
                violation_error_message="A transfer needs two different sites.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.pieces} × {self.part} from {self.from_site} to {self.to_site}"


class HoldQuerySet(models.QuerySet["Hold"]):
    def standing(self) -> Self:
        return self.filter(pieces__gt=0)

    def expired(self, at: object) -> Self:
        return self.standing().filter(expires_at__lte=at)

    def for_hold_list(self, site: object) -> Self:
        """What is promised at a site, with the first to end first."""
        here = self.standing().filter(shelf__site=site).select_related("shelf__part", "by")
        return here.order_by(F("expires_at").asc(nulls_last=True), "made_at", "pk")


class Hold(models.Model):
    """Pieces promised to a job. `pieces` falls to 0 as they are issued or released."""

    key = models.CharField(max_length=64, unique=True)
    shelf = models.ForeignKey(Shelf, on_delete=models.PROTECT, related_name="holds")
    pieces = models.IntegerField()
    pieces_promised = models.PositiveIntegerField()
    job_key = models.CharField("for job", max_length=80, db_index=True)
    made_at = models.DateTimeField(default=timezone.now)
    expires_at = models.DateTimeField(null=True, blank=True)
    deposit_cents = models.PositiveIntegerField(default=0)
    arrived_at = models.DateTimeField(null=True, blank=True)
    words = models.CharField("why it ended", max_length=80, blank=True)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )

    objects = HoldQuerySet.as_manager()

    class Meta:
        ordering = ["-made_at", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(pieces__gte=0) & Q(pieces__lte=F("pieces_promised")),
                name="hold_within_its_promise",
                violation_error_message="A hold cannot cover more than was promised.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.pieces} held for {self.job_key}"
