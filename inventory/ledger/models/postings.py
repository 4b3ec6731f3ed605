"""What happened to stock: postings and their movements. Appended to, never changed."""

from typing import Self

from django.conf import settings
from django.db import models
from django.db.models import F, OuterRef, Q, Sum
from django.utils import timezone

from inventory.ledger.models.sums import whole


class PostingKind(models.TextChoices):
    OPENING = "opening", "Opening stock"
    RECEIVED = "received", "Received"
    ISSUED = "issued", "Issued"
    RETURNED = "returned", "Returned by a job"
    TAKEN_OFF = "taken_off", "Taken off a vehicle"
    TO_SUPPLIER = "to_supplier", "Returned to supplier"
    MOVED = "moved", "Moved"
    COUNTED = "counted", "Counted"
    SCRAPPED = "scrapped", "Scrapped"
    REVALUED = "revalued", "Revalued"
    TAKEN_APART = "taken_apart", "Taken apart"
    PUT_TOGETHER = "put_together", "Put together"
    UNDONE = "undone", "Undone"


class PostingQuerySet(models.QuerySet["Posting"]):
    def standing(self) -> Self:
        """Neither undone nor the undoing of another."""
        return self.filter(undone_by=None, undoes=None)


class Posting(models.Model):
    """One event, posted once: the key sees to that. Never changed, never deleted."""

    key = models.CharField(max_length=64, unique=True)
    kind = models.CharField(max_length=12, choices=PostingKind.choices)
    occasion = models.CharField(max_length=80, blank=True, db_index=True)
    occasion_on = models.DateField(null=True, blank=True)
    words = models.CharField(max_length=200, blank=True)
    happened_at = models.DateTimeField(db_index=True)
    recorded_at = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        null=True,
        related_name="+",
        db_index=False,
    )
    undoes = models.OneToOneField(
        "self",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="undone_by",
        error_messages={"unique": "This was undone already; nothing more to undo."},
    )
    # The promise an issue used up, so that undoing the issue can restore it.
    hold = models.ForeignKey(
        "inventory.Hold",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
        db_index=False,
    )
    hold_pieces = models.PositiveIntegerField(default=0)

    objects = PostingQuerySet.as_manager()

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(hold_pieces=0) | Q(hold__isnull=False),
                name="posting_from_its_hold",
                violation_error_message="Pieces taken from a promise need the promise.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.happened_at:%Y-%m-%d}"


class MovementQuerySet(models.QuerySet["Movement"]):
    def out_on_jobs(self) -> Self:
        """Issues of which pieces are still out; annotates `pieces_out`."""
        answers = Movement.objects.filter(of=OuterRef("pk"), posting__undone_by=None)
        back = whole(answers.order_by().values("of").annotate(sum=Sum("pieces")))
        issued = self.filter(posting__kind=PostingKind.ISSUED, pieces__lt=0)
        return issued.annotate(pieces_out=-F("pieces") - back).filter(pieces_out__gt=0)


class Movement(models.Model):
    """Signed pieces and cents of one lot in one posting. Never changed, never deleted."""

    # The constraint and the index below cover these columns without an index of their own.
    posting = models.ForeignKey(
        Posting, on_delete=models.PROTECT, related_name="movements", db_index=False
    )
    number = models.PositiveIntegerField("number within its posting")
    lot = models.ForeignKey("inventory.Lot", on_delete=models.PROTECT, related_name="movements")
    part = models.ForeignKey(
        "inventory.Part", on_delete=models.PROTECT, related_name="+", db_index=False
    )
    site = models.ForeignKey(
        "inventory.Site", on_delete=models.PROTECT, related_name="+", db_index=False
    )
    pieces = models.IntegerField()
    cents = models.BigIntegerField()
    # The movement this one returns, undoes or corrects.
    of = models.ForeignKey(
        "self",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="answers",
        db_index=False,
    )

    # Where a query annotated it.
    pieces_out: int

    objects = MovementQuerySet.as_manager()

    class Meta:
        ordering = ["posting", "number"]
        indexes = [
            models.Index(fields=["part", "site", "posting"]),
            models.Index(fields=["of"], name="movement_answers", condition=Q(of__isnull=False)),
        ]
        constraints = [
            models.UniqueConstraint(
                fields=["posting", "number"],
                name="movement_numbered_once",
                violation_error_message="This posting already has a movement of this number.",
            ),
            models.CheckConstraint(
                condition=Q(pieces__gt=0, cents__gte=0)
                | Q(pieces__lt=0, cents__lte=0)
                | (Q(pieces=0) & ~Q(cents=0)),
                name="movement_signs_agree",
                violation_error_message="Pieces and their cents move the same way.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.pieces:+d} {self.part}"
