"""From whom a part can be bought: suppliers, their offers and the prices by quantity."""

from collections.abc import Iterable
from datetime import date, datetime, time, timedelta
from typing import Any, Self

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator, RegexValidator
from django.db import models
from django.db.models import Count, F, Q
from django.utils import timezone

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


class SupplierQuerySet(models.QuerySet["Supplier"]):
    def for_supplier_list(self) -> Self:
        coming = Q(orders__status__in=["sent", "part_delivered"])
        return self.annotate(
            offer_count=Count("offers", distinct=True),
            coming_count=Count("orders", filter=coming, distinct=True),
        )


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

    objects = SupplierQuerySet.as_manager()

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name

    def leaves_at(self, now: datetime) -> datetime:
        """When the next order leaves, on the site's clock: the next order day, before cut-off."""
        days = [int(digit) for digit in self.order_days] or [now.isoweekday()]
        first = now.date() + timedelta(days=1 if now.time() > self._last_minute else 0)
        after = min((day - first.isoweekday()) % 7 for day in days)
        return datetime.combine(first + timedelta(days=after), self._last_minute, now.tzinfo)

    def arrives_on(self, now: datetime) -> date:
        """The day an order placed now is expected, as the supplier states it."""
        return self.leaves_at(now).date() + timedelta(days=self.stated_lead_days)

    @property
    def days_in_words(self) -> str:
        return ", ".join(WEEKDAYS[int(digit) - 1] for digit in sorted(set(self.order_days)))

    @property
    def _last_minute(self) -> time:
        return self.cut_off or time(23, 59)


class OfferQuerySet(models.QuerySet["Offer"]):
    def valid_on(self, day: date) -> Self:
        return self.filter(Q(valid_from__lte=day), Q(valid_to=None) | Q(valid_to__gte=day))

    def from_now_on(self, day: date) -> Self:
        """Offers that hold on a day or begin later."""
        return self.filter(Q(valid_to=None) | Q(valid_to__gte=day))

    def with_breaks(self) -> Self:
        return self.prefetch_related("breaks")


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

    def price_of(self, packs: int) -> int:
        """Cents for each of so many packs: the price of the highest break they reach."""
        prices: Iterable[tuple[int, int]] = (
            (step.from_packs, step.pack_price_cents)
            for step in self.breaks.all()
            if step.from_packs <= packs
        )
        return max(prices, default=(0, self.pack_price_cents))[1]

    def packs_for(self, pieces: int) -> int:
        """The fewest packs that hold so many pieces and that the supplier will sell."""
        return max(self.minimum_packs, -(-pieces // self.pack))


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
            ),
            models.CheckConstraint(
                condition=Q(from_packs__gte=2),
                name="offer_break_from_two",
                violation_error_message="A price break begins at 2 packs or more.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.from_packs} packs"


class PriceListQuerySet(models.QuerySet["PriceList"]):
    def accepted(self) -> Self:
        return self.exclude(accepted_at=None)


class PriceList(models.Model):
    """A supplier's price list as it was uploaded, and what its columns mean.

    The columns of the last one that was accepted are remembered for the next.
    """

    key = models.CharField(max_length=24, unique=True)
    supplier = models.ForeignKey(Supplier, on_delete=models.CASCADE, related_name="price_lists")
    file_name = models.CharField(max_length=120)
    uploaded_at = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    heads: models.JSONField[Any, Any] = models.JSONField(default=list)
    rows: models.JSONField[Any, Any] = models.JSONField(default=list)
    columns: models.JSONField[Any, Any] = models.JSONField(default=dict)
    valid_from = models.DateField(null=True, blank=True)
    accepted_at = models.DateTimeField(null=True, blank=True)
    words = models.CharField("what it changed", max_length=200, blank=True)

    objects = PriceListQuerySet.as_manager()

    class Meta:
        ordering = ["-uploaded_at", "-pk"]

    def __str__(self) -> str:
        return self.file_name
