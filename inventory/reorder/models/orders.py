"""What was ordered and what came: orders and deliveries."""

from datetime import date, datetime
from typing import Self

from django.conf import settings
from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Case, Count, F, Min, OuterRef, Q, Subquery, Sum, When
from django.db.models.functions import Cast, Coalesce
from django.utils import timezone

from inventory.ledger.models import Hold, Lot
from inventory.reorder.models.offers import Supplier
from inventory.shop.models import Site


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

    def overdue(self, today: date) -> Self:
        return self.coming().filter(expected_on__lt=today)

    def with_totals(self) -> Self:
        """Number of lines, and what the order costs where every price is known."""
        packs_price = F("lines__packs") * F("lines__pack_price_cents")
        return self.annotate(
            line_count=Count("lines"),
            lines_without_price=Count("lines", filter=Q(lines__pack_price_cents=None)),
            total_cents=Coalesce(
                Sum(Cast(packs_price, models.BigIntegerField())),
                0,
                output_field=models.BigIntegerField(),
            ),
        )

    def shown(self, word: str, today: date) -> Self:
        """The orders that a word of the list picks out: open ones unless it says otherwise."""
        if word == "late":
            return self.overdue(today)
        if word == "queried":
            queried = DeliveryLine.objects.filter(price_queried=True)
            return self.filter(pk__in=queried.values("order_line__order"))
        past = Q(status__in=[OrderStatus.DELIVERED, OrderStatus.WITHDRAWN])
        return self.filter(past) if word == "past" else self.exclude(past)

    def for_order_list(self) -> Self:
        return self.select_related("supplier", "site").with_totals().order_by("-made_at", "-pk")


class Order(models.Model):
    key = models.CharField("order", max_length=24, unique=True)
    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, related_name="orders")
    site = models.ForeignKey("inventory.Site", on_delete=models.PROTECT)
    status = models.CharField(max_length=14, choices=OrderStatus.choices, default=OrderStatus.DRAFT)
    made_at = models.DateTimeField(default=timezone.now)
    sent_at = models.DateTimeField(null=True, blank=True)
    expected_on = models.DateField(null=True, blank=True)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
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

    @property
    def is_draft(self) -> bool:
        return self.status == OrderStatus.DRAFT

    @property
    def is_coming(self) -> bool:
        return self.status in {OrderStatus.SENT, OrderStatus.PART_DELIVERED}


class OrderLineQuerySet(models.QuerySet["OrderLine"]):
    def coming(self) -> Self:
        """Lines of which pieces are still to come."""
        coming = [OrderStatus.SENT, OrderStatus.PART_DELIVERED]
        return self.alias(ordered=F("packs") * F("pack")).filter(
            order__status__in=coming, ordered__gt=F("pieces_delivered") + F("pieces_withdrawn")
        )

    def special(self, site: Site) -> Self:
        """What was ordered for a job at a site; annotates `held`: pieces that wait for the job."""
        waiting = Hold.objects.standing().filter(
            job_key=OuterRef("job_key"),
            shelf__part=OuterRef("part"),
            shelf__site=OuterRef("order__site"),
        )
        by_job = waiting.order_by().values("job_key")
        held = Subquery(by_job.annotate(total=Sum("pieces")).values("total"))
        since = Subquery(by_job.annotate(first=Min("arrived_at")).values("first"))
        lines = self.filter(order__site=site).exclude(job_key="")
        lines = lines.annotate(held=Coalesce(held, 0), held_since=since)
        return lines.select_related("part", "order__supplier").order_by("-order__made_at", "line")

    def unfinished(self) -> Self:
        """Of special orders: still to send, still to come, or here and not fitted."""
        coming = [OrderStatus.DRAFT, OrderStatus.SENT, OrderStatus.PART_DELIVERED]
        ordered = F("packs") * F("pack")
        done = F("pieces_delivered") + F("pieces_withdrawn")
        return self.alias(ordered=ordered, done=done).filter(
            Q(held__gt=0) | Q(order__status__in=coming, ordered__gt=F("done"))
        )

    def that_may_come_with(self, order: "Order") -> Self:
        """Open lines of one supplier for one site, those of this order first: back-orders too."""
        lines = self.coming().filter(order__supplier=order.supplier, order__site=order.site)
        first = Case(When(order=order, then=0), default=1)
        return lines.select_related("part", "order").order_by(first, "order__sent_at", "line")


class OrderLine(models.Model):
    order = models.ForeignKey(Order, on_delete=models.CASCADE, related_name="lines")
    line = models.PositiveSmallIntegerField("line", validators=[MinValueValidator(1)])
    part = models.ForeignKey("inventory.Part", on_delete=models.PROTECT)
    packs = models.PositiveIntegerField(validators=[MinValueValidator(1)])
    pack = models.PositiveIntegerField("pieces in a pack", default=1)
    pack_price_cents = models.PositiveIntegerField(null=True, blank=True)
    suggested_packs = models.PositiveIntegerField("suggested by the plan", null=True, blank=True)
    job_key = models.CharField("for job", max_length=40, blank=True)
    wish = models.BooleanField("customer's own choice of make or look", default=False)
    pieces_delivered = models.PositiveIntegerField(default=0)
    pieces_withdrawn = models.PositiveIntegerField(default=0)

    # Where a query annotated them.
    held: int
    held_since: datetime | None

    objects = OrderLineQuerySet.as_manager()

    class Meta:
        ordering = ["order", "line"]
        constraints = [
            models.UniqueConstraint(
                fields=["order", "line"],
                name="order_line_number_once",
                violation_error_message="This order already has a line of this number.",
            ),
            models.UniqueConstraint(
                fields=["order", "part", "job_key"],
                name="order_line_once",
                violation_error_message="This part is already on the order; change its quantity.",
            ),
            models.CheckConstraint(
                condition=Q(packs__gte=1) & Q(pack__gte=1),
                name="order_line_at_least_one",
                violation_error_message="Order at least one pack, or take the line off.",
            ),
            models.CheckConstraint(
                condition=Q(wish=False) | ~Q(job_key=""),
                name="order_line_wish_has_its_job",
                violation_error_message="A customer's own choice is ordered for a job; name it.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.pieces} × {self.part}"

    @property
    def pieces(self) -> int:
        return self.packs * self.pack

    @property
    def pieces_open(self) -> int:
        return max(0, self.pieces - self.pieces_delivered - self.pieces_withdrawn)

    @property
    def value_cents(self) -> int | None:
        return None if self.pack_price_cents is None else self.packs * self.pack_price_cents

    @property
    def suggested_pieces(self) -> int | None:
        return None if self.suggested_packs is None else self.suggested_packs * self.pack

    @property
    def is_edited(self) -> bool:
        return self.suggested_packs is not None and self.suggested_packs != self.packs


class Delivery(models.Model):
    key = models.CharField("delivery", max_length=24, unique=True)
    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, related_name="deliveries")
    site = models.ForeignKey("inventory.Site", on_delete=models.PROTECT)
    note_number = models.CharField("delivery note", max_length=40, blank=True)
    at = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta:
        ordering = ["-at", "-pk"]
        verbose_name_plural = "deliveries"

    def __str__(self) -> str:
        return self.key


class DeliveryLineQuerySet(models.QuerySet["DeliveryLine"]):
    def that_came_with(self, order: Order) -> Self:
        """Every line of the deliveries that brought something of an order."""
        brought = Delivery.objects.filter(lines__order_line__order=order)
        lines = self.filter(delivery__in=brought).filter(
            Q(order_line=None) | Q(order_line__order=order)
        )
        return lines.select_related("part", "delivery").order_by("delivery__at", "line")

    def that_brought(self, lot: Lot) -> "DeliveryLine | None":
        """The line of the delivery with which a lot came in, while it has not been split off."""
        came = self.filter(posting__movements__lot=lot, posting__movements__pieces__gt=0)
        return came.select_related("delivery", "order_line__order").first()


class DeliveryLine(models.Model):
    delivery = models.ForeignKey(Delivery, on_delete=models.CASCADE, related_name="lines")
    line = models.PositiveSmallIntegerField("line", validators=[MinValueValidator(1)])
    order_line = models.ForeignKey(
        OrderLine, on_delete=models.PROTECT, null=True, blank=True, related_name="deliveries"
    )
    part = models.ForeignKey("inventory.Part", on_delete=models.PROTECT)
    pieces = models.PositiveIntegerField(validators=[MinValueValidator(1)])
    value_cents = models.PositiveIntegerField()
    price_queried = models.BooleanField("price queried with the supplier", default=False)
    posting = models.ForeignKey(
        "inventory.Posting", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    objects = DeliveryLineQuerySet.as_manager()

    class Meta:
        ordering = ["delivery", "line"]
        constraints = [
            models.UniqueConstraint(
                fields=["delivery", "line"],
                name="delivery_line_number_once",
                violation_error_message="This delivery already has a line of this number.",
            ),
            models.CheckConstraint(
                condition=Q(pieces__gte=1),
                name="delivery_line_at_least_one",
                violation_error_message="A delivery line holds at least one piece.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.pieces} × {self.part}"
