"""The plan: one run, a line for each part at each site, and what the vehicles lead us to expect."""

from collections.abc import Iterable
from typing import Any, Self

from django.conf import settings
from django.db import models
from django.db.models import Case, Exists, F, OuterRef, Q, Value, When
from django.utils import timezone

from inventory.catalog.models import Part
from inventory.reorder.models.offers import Supplier
from inventory.reorder.models.orders import OrderLine, OrderStatus
from inventory.shop.models import Site

WEEKS_A_YEAR = 52


class PlanStatus(models.TextChoices):
    WAITING = "waiting", "Waiting"
    RUNNING = "running", "Running"
    DONE = "done", "Done"
    FAILED = "failed", "Failed"


class PlanRunQuerySet(models.QuerySet["PlanRun"]):
    def finished(self) -> Self:
        """The plan of the latest day first: one made to look back is no plan for today."""
        done = self.filter(status=PlanStatus.DONE)
        return done.order_by("-as_of", "-asked_at", "-pk")


class PlanRun(models.Model):
    asked_at = models.DateTimeField(default=timezone.now)
    finished_at = models.DateTimeField(null=True, blank=True)
    as_of = models.DateField()
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    status = models.CharField(max_length=7, choices=PlanStatus.choices, default=PlanStatus.WAITING)
    words = models.CharField(max_length=300, blank=True)
    # What all lines of a supplier share: the law of its lead times, the days between its orders.
    figures: models.JSONField[Any, Any] = models.JSONField(default=dict)

    objects = PlanRunQuerySet.as_manager()

    class Meta:
        ordering = ["-asked_at", "-pk"]

    def __str__(self) -> str:
        return f"Plan of {self.as_of}"


# Lines of which older parts lie here, to be used up before any is bought.
USE_UP_FIRST = Q(figures__older__gt=0)
OWN_GOAL = Q(figures__has_key="goal")


class PlanLineQuerySet(models.QuerySet["PlanLine"]):
    def to_order(self) -> Self:
        """What is suggested, less what went out on an order since the plan was asked for."""
        ordered = OrderLine.objects.filter(
            part=OuterRef("part"),
            job_key="",
            order__site=OuterRef("site"),
            order__sent_at__gte=OuterRef("run__asked_at"),
        ).exclude(order__status=OrderStatus.WITHDRAWN)
        return self.filter(~Exists(ordered), suggested_packs__gt=0)

    def for_parts_list(self, run: PlanRun, site: Site, show: str) -> Self:
        """Every part that the plan looked at, or those that a word picks out."""
        picked = {
            "asked": Q(reorder_point__lt=0),
            "older": USE_UP_FIRST,
            "goal": OWN_GOAL,
            "note": ~Q(words=""),
        }
        lines = self.to_order() if show == "order" else self.filter(picked.get(show, Q()))
        return (
            lines.filter(run=run, site=site)
            .select_related("supplier", "part")
            .order_by("part__number")
        )

    def last_of(self, part: Part, site: Site) -> "PlanLine | None":
        """What the plan for today says of a part at a site, if it looked at it."""
        run = PlanRun.objects.finished().values("pk")[:1]
        return self.filter(run__in=run, part=part, site=site).first()

    def for_order(self, run: PlanRun) -> Self:
        """What to order, supplier by supplier; parts that nobody offers come last."""
        lines = self.filter(run=run).to_order().select_related("supplier", "part", "site")
        return lines.order_by(
            F("supplier__name").asc(nulls_last=True), "supplier", "part__number", "site__code"
        )

    def for_reorder_list(self, run: PlanRun, site: Site) -> Self:
        return self.for_order(run).filter(site=site)

    def to_bring_forward(self, run: PlanRun, site: Site) -> Self:
        """What is kept, used and not to be ordered yet."""
        kept = self.filter(run=run, site=site, suggested_packs=0, reorder_point__gte=0)
        return kept.filter(asks__gt=0, supplier__isnull=False).select_related("part", "supplier")

    def kept_at(self, run: PlanRun, site: Site) -> Self:
        """What the plan keeps on a site's shelf, and does not buy only when asked."""
        kept = self.filter(run=run, site=site, reorder_point__gte=0)
        return kept.select_related("part")

    def elsewhere(self, run: PlanRun, site: Site, parts: Iterable[int]) -> Self:
        """The same parts at other sites that have some to spare at all."""
        others = self.filter(run=run, part__in=list(parts), on_hand__gt=F("held"))
        return others.exclude(site=site).select_related("site", "part")

    def for_surplus(self, run: PlanRun, site: Site) -> Self:
        """Free pieces beyond what the plan keeps and a year uses."""
        most = Case(
            When(reorder_point__gte=0, then=F("reorder_point") + F("order_quantity")),
            default=Value(0),
        )
        lines = self.filter(run=run, site=site).alias(free=F("on_hand") - F("held"), most=most)
        beyond = lines.filter(free__gt=F("most")).filter(
            free__gt=F("asks") * F("size_mean") * WEEKS_A_YEAR
        )
        return beyond.select_related("part", "site")


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
    # None where no share of jobs was aimed at: the cheapest, or bought when asked by its own goal.
    target = models.FloatField(null=True)
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

    @property
    def position(self) -> int:
        """On hand, older ones it took the place of and coming, less what is promised."""
        return self.on_hand + self.older + self.on_order - self.held - self.owed

    @property
    def older(self) -> int:
        """Free pieces of the parts that this one superseded; they are used up first."""
        return int(self.figures.get("older", 0))

    @property
    def sent_on(self) -> float:
        """Asks a week in which this part stands in for others that are out."""
        return float(self.figures.get("sent_on", 0.0))

    @property
    def is_superseded(self) -> bool:
        """Bought no more; what is asked for of it is demand for the part that took its place."""
        return bool(self.figures.get("superseded"))

    @property
    def own_goal(self) -> str:
        """The part's own goal in words, as it stood when the plan was made."""
        return str(self.figures.get("goal", {}).get("what", ""))

    @property
    def free(self) -> int:
        """Pieces here that nobody was promised."""
        return self.on_hand - self.held

    @property
    def pieces_a_year(self) -> float:
        return self.asks * self.size_mean * WEEKS_A_YEAR

    @property
    def most_kept(self) -> int:
        """As many as there can be after an order; none of what is bought when asked."""
        return 0 if self.is_bought_when_asked else self.reorder_point + self.order_quantity

    @property
    def spare(self) -> int:
        """Free pieces that this site can give away, counting what it waits for itself."""
        return max(0, min(self.free, self.position - self.most_kept))

    @property
    def promised(self) -> int:
        return self.held + self.owed

    @property
    def suggested_pieces(self) -> int:
        return self.suggested_packs * self.pack

    @property
    def cost_cents(self) -> int | None:
        price = self.pack_price_cents
        return None if price is None else self.suggested_packs * price

    @property
    def is_bought_when_asked(self) -> bool:
        return self.reorder_point < 0


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
