"""From whom to buy, what was ordered and delivered, and the plan with every figure behind it."""

from typing import Any, Self

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator, RegexValidator
from django.db import models
from django.db.models import F, Q
from django.utils import timezone


class Supplier(models.Model):
    code = models.CharField("short code", max_length=16, unique=True)
    name = models.CharField(max_length=80)
    order_days = models.CharField(
        "order days",
        max_length=7,
        default="12345",
        validators=[RegexValidator("^[1-7]+$", "Write weekdays as digits, Monday is 1: 135.")],
        help_text="Weekdays as digits, Monday is 1.",
    )
    cut_off = models.TimeField("order before", null=True, blank=True)
    stated_lead_days = models.PositiveSmallIntegerField("lead time as stated, days", default=2)
    order_cost_cents = models.PositiveIntegerField("cost of placing an order", default=0)
    freight_cents = models.PositiveIntegerField("freight on an order", default=0)
    freight_free_from_cents = models.PositiveIntegerField(
        "freight-free from", null=True, blank=True
    )
    our_number = models.CharField("our customer number", max_length=40, blank=True)
    contact = models.CharField("where to send orders", max_length=120, blank=True)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class OfferQuerySet(models.QuerySet["Offer"]):
    def valid_on(self, day: object) -> Self:
        return self.filter(Q(valid_from__lte=day), Q(valid_to=None) | Q(valid_to__gte=day))


class Offer(models.Model):
    """A supplier's price of a part. Per pack, so that a part below a cent stays exact."""

    supplier = models.ForeignKey(Supplier, on_delete=models.CASCADE, related_name="offers")
    part = models.ForeignKey("inventory.Part", on_delete=models.CASCADE, related_name="offers")
    supplier_code = models.CharField("supplier's number", max_length=60, blank=True)
    pack = models.PositiveIntegerField(
        "pieces in a pack", default=1, validators=[MinValueValidator(1)]
    )
    minimum_packs = models.PositiveIntegerField(default=1, validators=[MinValueValidator(1)])
    pack_price_cents = models.PositiveIntegerField("price of a pack")
    valid_from = models.DateField()
    valid_to = models.DateField(null=True, blank=True)
    returnable_days = models.PositiveSmallIntegerField(default=0)
    return_fee_per_mille = models.PositiveSmallIntegerField(
        default=0, validators=[MaxValueValidator(1000)]
    )
    warranty_months = models.PositiveSmallIntegerField(default=0)

    objects = OfferQuerySet.as_manager()

    class Meta:
        ordering = ["part", "supplier", "-valid_from"]
        constraints = [
            models.UniqueConstraint(
                fields=["supplier", "part", "valid_from"],
                name="offer_once_a_day",
                violation_error_message="This supplier already offers this part from that day.",
            ),
            models.CheckConstraint(
                condition=Q(pack__gte=1) & Q(minimum_packs__gte=1),
                name="offer_pack_at_least_one",
                violation_error_message="A pack holds at least one piece.",
            ),
            models.CheckConstraint(
                condition=Q(valid_to=None) | Q(valid_from__lte=F("valid_to")),
                name="offer_dates_in_order",
                violation_error_message="An offer cannot end before it begins.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.part} from {self.supplier}"


class OfferBreak(models.Model):
    """From this many packs on, every pack costs this much."""

    offer = models.ForeignKey(Offer, on_delete=models.CASCADE, related_name="breaks")
    from_packs = models.PositiveIntegerField(validators=[MinValueValidator(2)])
    pack_price_cents = models.PositiveIntegerField()

    class Meta:
        ordering = ["offer", "from_packs"]
        constraints = [
            models.UniqueConstraint(
                fields=["offer", "from_packs"],
                name="offer_break_once",
                violation_error_message="This quantity already has a price.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.from_packs} packs"


class OrderStatus(models.TextChoices):
    DRAFT = "draft", "Draft"
    SENT = "sent", "Sent"
    PART_DELIVERED = "part_delivered", "Part delivered"
    DELIVERED = "delivered", "Delivered"
    WITHDRAWN = "withdrawn", "Withdrawn"


class OrderQuerySet(models.QuerySet["Order"]):
    def coming(self) -> Self:
        return self.filter(status__in=[OrderStatus.SENT, OrderStatus.PART_DELIVERED])

    def drafts(self) -> Self:
        return self.filter(status=OrderStatus.DRAFT)


class Order(models.Model):
    key = models.CharField("order", max_length=24, unique=True)
    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, related_name="orders")
    site = models.ForeignKey("inventory.Site", on_delete=models.PROTECT)
    status = models.CharField(max_length=14, choices=OrderStatus.choices, default=OrderStatus.DRAFT)
    made_at = models.DateTimeField(default=timezone.now)
    sent_at = models.DateTimeField(null=True, blank=True)
    expected_on = models.DateField(null=True, blank=True)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    words = models.CharField("note to the supplier", max_length=200, blank=True)

    objects = OrderQuerySet.as_manager()

    class Meta:
        ordering = ["-made_at", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(status__in=["draft", "withdrawn"]) | ~Q(sent_at=None),
                name="order_sent_has_its_time",
                violation_error_message="An order that left the shop needs the time it was sent.",
            ),
            models.UniqueConstraint(
                fields=["supplier", "site"],
                condition=Q(status="draft"),
                name="order_one_draft",
                violation_error_message="This supplier already has a draft for this site.",
            ),
        ]

    def __str__(self) -> str:
        return self.key


class OrderLine(models.Model):
    order = models.ForeignKey(Order, on_delete=models.CASCADE, related_name="lines")
    part = models.ForeignKey("inventory.Part", on_delete=models.PROTECT)
    packs = models.PositiveIntegerField(validators=[MinValueValidator(1)])
    pack = models.PositiveIntegerField("pieces in a pack", default=1)
    pack_price_cents = models.PositiveIntegerField(null=True, blank=True)
    suggested_packs = models.PositiveIntegerField("suggested by the plan", null=True, blank=True)
    job_key = models.CharField("for job", max_length=24, blank=True)
    wish = models.BooleanField("customer's own choice of make or look", default=False)
    pieces_delivered = models.PositiveIntegerField(default=0)
    pieces_withdrawn = models.PositiveIntegerField(default=0)

    class Meta:
        ordering = ["order", "part"]
        constraints = [
            models.UniqueConstraint(
                fields=["order", "part", "job_key"],
                name="order_line_once",
                violation_error_message="This part is already on the order; change its quantity.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.pieces} × {self.part}"

    @property
    def pieces(self) -> int:
        return self.packs * self.pack

    @property
    def pieces_open(self) -> int:
        return max(0, self.pieces - self.pieces_delivered - self.pieces_withdrawn)


class Delivery(models.Model):
    key = models.CharField("delivery", max_length=24, unique=True)
    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, related_name="deliveries")
    site = models.ForeignKey("inventory.Site", on_delete=models.PROTECT)
    note_number = models.CharField("delivery note", max_length=40, blank=True)
    at = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )

    class Meta:
        ordering = ["-at", "-pk"]
        verbose_name_plural = "deliveries"

    def __str__(self) -> str:
        return self.key


class DeliveryLine(models.Model):
    delivery = models.ForeignKey(Delivery, on_delete=models.CASCADE, related_name="lines")
    order_line = models.ForeignKey(
        OrderLine, on_delete=models.PROTECT, null=True, blank=True, related_name="deliveries"
    )
    part = models.ForeignKey("inventory.Part", on_delete=models.PROTECT)
    pieces = models.PositiveIntegerField(validators=[MinValueValidator(1)])
    value_cents = models.PositiveIntegerField()
    posting = models.ForeignKey(
        "inventory.Posting", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta:
        ordering = ["delivery", "part"]

    def __str__(self) -> str:
        return f"{self.pieces} × {self.part}"


class ClaimStatus(models.TextChoices):
    OPEN = "open", "To send"
    SENT = "sent", "Sent"
    CREDITED = "credited", "Credited"
    REFUSED = "refused", "Refused"


class Claim(models.Model):
    """A failed part on its way back to the supplier, and what came of it."""

    key = models.CharField("claim", max_length=24, unique=True)
    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, related_name="claims")
    part = models.ForeignKey("inventory.Part", on_delete=models.PROTECT)
    lot = models.ForeignKey(
        "inventory.Lot", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    job_key = models.CharField("job on which it failed", max_length=24, blank=True)
    fitted_by_job_key = models.CharField("job that fitted it", max_length=24, blank=True)
    fitted_on = models.DateField(null=True, blank=True)
    failed_on = models.DateField()
    odometer_km = models.PositiveIntegerField("odometer, km", null=True, blank=True)
    printed_code = models.CharField(max_length=40, blank=True)
    claim_by = models.DateField(null=True, blank=True)
    status = models.CharField(max_length=8, choices=ClaimStatus.choices, default=ClaimStatus.OPEN)
    credit_cents = models.PositiveIntegerField(default=0)
    settled_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["-failed_on", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(credit_cents=0) | Q(status="credited"),
                name="claim_credit_when_credited",
                violation_error_message="Only a credited claim carries a credit.",
            )
        ]

    def __str__(self) -> str:
        return self.key


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
