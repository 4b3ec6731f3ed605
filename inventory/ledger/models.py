"""What is on the shelf, to the piece and the cent, and how it got there.

Append-only: a correction is a new posting. Only this subject's actions write these tables. An ask
is demand, a movement is supply; the ledger knows jobs only as an occasion, a text and a date.
"""

from typing import Self

from django.conf import settings
from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils import timezone


class ShelfQuerySet(models.QuerySet["Shelf"]):
    def stocked(self) -> Self:
        return self.filter(on_hand__gt=0)

    def at(self, site: object) -> Self:
        return self.filter(site=site)

    def with_available(self) -> Self:
        """Annotates `free`: pieces that can be issued to anybody now."""
        return self.annotate(free=F("usable") - F("held"))


class Shelf(models.Model):
    """What one site holds of one part. A posting locks this row first, and with it its lots."""

    part = models.ForeignKey("inventory.Part", on_delete=models.PROTECT, related_name="shelves")
    site = models.ForeignKey("inventory.Site", on_delete=models.PROTECT, related_name="shelves")
    on_hand = models.IntegerField(default=0)
    usable = models.IntegerField("in sealed or checked lots", default=0)
    held = models.IntegerField("promised to jobs", default=0)

    objects = ShelfQuerySet.as_manager()

    class Meta:
        ordering = ["part", "site"]
        verbose_name_plural = "shelves"
        constraints = [
            models.UniqueConstraint(fields=["part", "site"], name="shelf_once"),
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
        """Oldest made, then oldest received. A lot of unknown make date counts by its receipt."""
        return self.order_by(F("made_on").asc(nulls_last=True), "received_on", "pk")


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
    prepared_for = models.CharField("prepared for job", max_length=40, blank=True)
    came_from = models.CharField("where it came from", max_length=80, blank=True)
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
            ),
        ]

    def __str__(self) -> str:
        return f"{self.pieces_left} left of {self.pieces_received} since {self.received_on}"


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

    def with_done(self) -> Self:
        """Annotates whether the posting has its movements: those are written with it."""
        movements = Movement.objects.filter(posting=models.OuterRef("pk"))
        return self.annotate(done=models.Exists(movements))


class Posting(models.Model):
    """One event, posted once: the key sees to that. Never changed, never deleted."""

    done: bool  # where with_done() annotated it

    key = models.CharField(max_length=64, unique=True)
    kind = models.CharField(max_length=12, choices=PostingKind.choices)
    occasion = models.CharField(max_length=80, blank=True, db_index=True)
    occasion_on = models.DateField(null=True, blank=True)
    words = models.CharField(max_length=200, blank=True)
    happened_at = models.DateTimeField(db_index=True)
    recorded_at = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    undoes = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="undone_by"
    )
    # The promise an issue used up, so that undoing the issue can restore it.
    hold = models.ForeignKey(
        "inventory.Hold", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    hold_pieces = models.PositiveIntegerField(default=0)

    objects = PostingQuerySet.as_manager()

    class Meta:
        ordering = ["-pk"]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.happened_at:%Y-%m-%d}"


class MovementQuerySet(models.QuerySet["Movement"]):
    def up_to(self, instant: object) -> Self:
        return self.filter(posting__happened_at__lte=instant)


class Movement(models.Model):
    """Signed pieces and cents of one lot in one posting. Never changed, never deleted."""

    posting = models.ForeignKey(Posting, on_delete=models.PROTECT, related_name="movements")
    number = models.PositiveSmallIntegerField("number within its posting")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="movements")
    part = models.ForeignKey("inventory.Part", on_delete=models.PROTECT, related_name="+")
    site = models.ForeignKey("inventory.Site", on_delete=models.PROTECT, related_name="+")
    pieces = models.IntegerField()
    cents = models.BigIntegerField()
    # The movement this one returns, undoes or corrects.
    of = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="answers"
    )

    objects = MovementQuerySet.as_manager()

    class Meta:
        ordering = ["posting", "number"]
        indexes = [models.Index(fields=["part", "site", "posting"])]
        constraints = [
            models.UniqueConstraint(fields=["posting", "number"], name="movement_numbered_once")
        ]

    def __str__(self) -> str:
        return f"{self.pieces:+d} {self.part}"


class Borrowed(models.TextChoices):
    SEND_BACK = "send_back", "Borrowed: send back"
    KEEP = "keep", "Keep"


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


class Hold(models.Model):
    """Pieces promised to a job. `pieces` falls to 0 as they are issued or released."""

    key = models.CharField(max_length=64, unique=True)
    shelf = models.ForeignKey(Shelf, on_delete=models.PROTECT, related_name="holds")
    pieces = models.IntegerField()
    pieces_promised = models.PositiveIntegerField()
    job_key = models.CharField("for job", max_length=40, db_index=True)
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


class Ask(models.Model):
    """Somebody needed this part here: demand, whether or not it was served. Never changed."""

    key = models.CharField(max_length=64, unique=True)
    part = models.ForeignKey("inventory.Part", on_delete=models.PROTECT, related_name="asks")
    site = models.ForeignKey("inventory.Site", on_delete=models.PROTECT, related_name="asks")
    pieces = models.PositiveIntegerField(validators=[MinValueValidator(1)])
    job_key = models.CharField(max_length=40, blank=True, db_index=True)
    at = models.DateTimeField()
    # The site's own day: usage is counted by it.
    day = models.DateField()
    wish = models.BooleanField("customer's own choice of make or look", default=False)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )

    class Meta:
        ordering = ["-at", "-pk"]
        indexes = [models.Index(fields=["part", "site", "day"])]
        constraints = [
            models.CheckConstraint(
                condition=Q(pieces__gte=1),
                name="ask_at_least_one",
                violation_error_message="Ask for at least one piece.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.pieces} × {self.part} on {self.day}"


class How(models.TextChoices):
    SHELF = "shelf", "From the shelf"
    SUBSTITUTE = "substitute", "By a substitute"
    PUT_TOGETHER = "put_together", "Put together"
    BOUGHT_IN = "bought_in", "Bought in"
    MOVED_HERE = "moved_here", "Moved here"
    WAITED = "waited", "Waited"
    LOST = "lost", "Lost for want of a part"
    DECLINED = "declined", "Declined"
    WITHDRAWN = "withdrawn", "Withdrawn"

    @classmethod
    def no_demand(cls) -> tuple["How", ...]:
        return (cls.DECLINED, cls.WITHDRAWN)


class AskOutcome(models.Model):
    """How pieces of an ask were served or not. Never changed; an undo is a row with a minus."""

    ask = models.ForeignKey(Ask, on_delete=models.PROTECT, related_name="outcomes")
    how = models.CharField(max_length=12, choices=How.choices)
    pieces = models.IntegerField()
    at = models.DateTimeField()
    posting = models.ForeignKey(
        Posting, on_delete=models.PROTECT, null=True, blank=True, related_name="outcomes"
    )

    class Meta:
        ordering = ["ask", "pk"]
        constraints = [
            models.CheckConstraint(condition=~Q(pieces=0), name="ask_outcome_of_some_pieces")
        ]

    def __str__(self) -> str:
        return f"{self.pieces} {self.get_how_display().lower()}"
