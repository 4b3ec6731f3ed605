"""What is there now: shelves and their lots. How it came to be there is told by the movements."""

from datetime import date
from typing import Self

from django.db import models
from django.db.models import F, OuterRef, Q, Sum
from django.db.models.functions import Coalesce

from inventory.ledger.models.sums import whole


class ShelfQuerySet(models.QuerySet["Shelf"]):
    def stocked(self) -> Self:
        return self.filter(on_hand__gt=0)

    def at(self, site: object) -> Self:
        return self.filter(site=site)

    def with_available(self) -> Self:
        """Annotates `free`: pieces that can be issued to anybody now."""
        return self.annotate(free=F("usable") - F("held"))

    def with_value(self) -> Self:
        """Annotates `value_cents`: what the pieces on the shelf cost."""
        lots = Lot.objects.filter(shelf=OuterRef("pk")).order_by().values("shelf")
        return self.annotate(value_cents=whole(lots.annotate(sum=Sum("cents_left"))))


class Shelf(models.Model):
    """What one site holds of one part. A posting locks this row first, and with it its lots."""

    part = models.ForeignKey(
        "inventory.Part", on_delete=models.PROTECT, related_name="shelves", db_index=False
    )
    site = models.ForeignKey("inventory.Site", on_delete=models.PROTECT, related_name="shelves")
    on_hand = models.IntegerField(default=0)
    usable = models.IntegerField("in sealed or checked lots", default=0)
    held = models.IntegerField("promised to jobs", default=0)

    # Where a query annotated them.
    free: int
    value_cents: int

    objects = ShelfQuerySet.as_manager()

    class Meta:
        ordering = ["part", "site"]
        verbose_name_plural = "shelves"
        constraints = [
            models.UniqueConstraint(
                fields=["part", "site"],
                name="shelf_once",
                violation_error_message="This part already has a shelf at this site.",
            ),
            models.CheckConstraint(
                condition=Q(held__gte=0) & Q(held__lte=F("usable")) & Q(usable__lte=F("on_hand")),
                name="shelf_never_below_nothing",
                violation_error_message="The shelf holds fewer pieces than that.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.part} at {self.site}"

    @property
    def available(self) -> int:
        return self.usable - self.held


class Condition(models.TextChoices):
    SEALED = "sealed", "Sealed"
    OPENED = "opened", "Opened"
    CHECKED = "checked", "Checked"
    PREPARED = "prepared", "Prepared for one job"
    CLAIM = "claim", "To claim"
    DECIDE = "decide", "To decide"

    @classmethod
    def usable(cls) -> tuple["Condition", ...]:
        """What can be issued to any job."""
        return (cls.SEALED, cls.CHECKED)


class LotQuerySet(models.QuerySet["Lot"]):
    def left(self) -> Self:
        return self.filter(pieces_left__gt=0)

    def usable(self) -> Self:
        return self.left().filter(condition__in=Condition.usable())

    def oldest_first(self) -> Self:
        """By age, as `Lot.age` says it of one lot."""
        return self.order_by(Coalesce("made_on", "received_on"), "received_on", "pk")


class Lot(models.Model):
    """Pieces of one part that came together, lie together and cost alike."""

    key = models.CharField("lot", max_length=72, unique=True)
    shelf = models.ForeignKey(Shelf, on_delete=models.PROTECT, related_name="lots")
    bin = models.ForeignKey("inventory.Bin", on_delete=models.PROTECT, null=True, blank=True)
    received_on = models.DateField()
    made_on = models.DateField(null=True, blank=True)
    maker_code = models.CharField("code as printed", max_length=40, blank=True)
    condition = models.CharField(max_length=8, choices=Condition.choices, default=Condition.SEALED)
    # For whom a prepared lot is kept; blank otherwise.
    prepared_for = models.CharField("prepared for job", max_length=80, blank=True)
    came_from = models.CharField("where it came from", max_length=80, blank=True)
    # The lot it was split off: a price corrected later follows the pieces.
    from_lot = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="split_into"
    )
    pieces_received = models.IntegerField()
    cents_received = models.BigIntegerField()
    pieces_left = models.IntegerField()
    cents_left = models.BigIntegerField()

    objects = LotQuerySet.as_manager()

    class Meta:
        ordering = ["shelf", "received_on", "pk"]
        indexes = [models.Index(fields=["shelf", "condition", "pieces_left"])]
        constraints = [
            models.CheckConstraint(
                condition=Q(pieces_left__gte=0) & Q(cents_left__gte=0),
                name="lot_never_below_nothing",
                violation_error_message="The lot holds fewer pieces than that.",
            ),
            models.CheckConstraint(
                condition=Q(pieces_left__gt=0) | Q(cents_left=0),
                name="lot_empty_is_worth_nothing",
                violation_error_message="The value of this lot was corrected since; "
                "undo that first.",
            ),
            models.CheckConstraint(
                condition=Q(pieces_left__lte=F("pieces_received")),
                name="lot_left_within_received",
                violation_error_message="A lot cannot hold more pieces than were received.",
            ),
            models.CheckConstraint(
                condition=~Q(condition="prepared") | ~Q(prepared_for=""),
                name="lot_prepared_for_one_job",
                violation_error_message="A prepared sensor is kept for one job; write which.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.pieces_left} left of {self.pieces_received} since {self.received_on}"

    @property
    def age(self) -> tuple[date, date, int]:
        """Oldest made, then oldest received. A lot of unknown make date counts by its receipt."""
        return self.made_on or self.received_on, self.received_on, self.pk or 0

    @property
    def is_usable(self) -> bool:
        return self.condition in Condition.usable()
