"""The shop itself: its settings, its sites and bins, and the log of who changed what."""

from datetime import date, datetime
from typing import Any, Self
from zoneinfo import ZoneInfo, available_timezones

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models.functions import Lower
from django.utils import timezone


class PressureUnit(models.TextChoices):
    PSI = "psi", "psi"
    KPA = "kpa", "kPa"
    BAR = "bar", "bar"


class TorqueUnit(models.TextChoices):
    NM = "nm", "N·m"
    LBF_IN = "lbf_in", "lbf·in"


class DateOrder(models.TextChoices):
    ISO = "Y-m-d", "2026-03-09"
    MONTH_FIRST = "m/d/Y", "03/09/2026"
    DAY_FIRST = "d.m.Y", "09.03.2026"


class ShelfGoal(models.TextChoices):
    """How much of a part is kept on the shelf; a part's own goal goes before it."""

    ONE = "one", "One target for all parts"
    BY_CLASS = "class", "A target by class of part"
    CHEAPEST = "cheapest", "Whatever costs least"


def target_percent(
    name: str, percent: int, help_text: str = ""
) -> "models.PositiveSmallIntegerField[int, int]":
    return models.PositiveSmallIntegerField(
        name,
        default=percent,
        validators=[MinValueValidator(1), MaxValueValidator(99)],
        help_text=help_text,
    )


class ShopSettings(models.Model):
    """One row. Amounts everywhere are in minor units of `currency`."""

    name = models.CharField("shop name", max_length=80, default="Our shop")
    address = models.TextField("address on orders", blank=True)
    currency = models.CharField(
        "currency", max_length=3, default="USD", help_text="ISO 4217 code, such as USD or EUR."
    )
    minor_digits = models.PositiveSmallIntegerField(
        "digits after the point", default=2, validators=[MaxValueValidator(3)]
    )
    pressure_unit = models.CharField(
        max_length=4, choices=PressureUnit.choices, default=PressureUnit.PSI
    )
    torque_unit = models.CharField(max_length=6, choices=TorqueUnit.choices, default=TorqueUnit.NM)
    date_order = models.CharField(max_length=5, choices=DateOrder.choices, default=DateOrder.ISO)
    prices_include_tax = models.BooleanField("prices are entered with tax", default=False)
    tax_per_mille = models.PositiveSmallIntegerField(
        "tax on sales, per mille", default=0, validators=[MaxValueValidator(999)]
    )
    labour_price_cents = models.PositiveIntegerField(
        "labour, price an hour", default=0, help_text="What a customer pays for an hour."
    )
    labour_cost_cents = models.PositiveIntegerField(
        "labour, cost an hour", default=0, help_text="What an hour costs the shop."
    )
    service_data_yearly_cents = models.PositiveIntegerField(
        "service data, cost a year",
        default=0,
        help_text="Subscriptions for vehicle and sensor data. Comes off the margin by the day.",
    )
    holding_percent_per_year = models.PositiveSmallIntegerField(
        "cost of holding stock, percent a year",
        default=25,
        validators=[MinValueValidator(1), MaxValueValidator(100)],
        help_text="Money, space and ageing: a share of what the stock cost.",
    )
    shelf_goal = models.CharField(
        "the shelf is planned to",
        max_length=8,
        choices=ShelfGoal.choices,
        default=ShelfGoal.ONE,
        help_text="A part can have a goal of its own; the page that says why it is planned has it.",
    )
    service_target_percent = target_percent("jobs to be served from the shelf, percent", 95)
    target_a_percent = target_percent(
        "class A, percent of jobs", 97, "The parts that bring the first 80% of a site's margin."
    )
    target_b_percent = target_percent(
        "class B, percent of jobs", 95, "Those that bring the next 15%."
    )
    target_c_percent = target_percent("class C, percent of jobs", 90, "All others.")
    rush_percent = models.PositiveSmallIntegerField(
        "a part bought in a hurry costs more by, percent",
        default=0,
        validators=[MaxValueValidator(300)],
        help_text="Counted into what it costs when the shelf is empty.",
    )
    gauge_tolerance_kpa = models.PositiveSmallIntegerField(
        "sensor and gauge agree within, kPa",
        default=7,
        help_text="About 1 psi.",
    )
    count_confirm_cents = models.PositiveIntegerField(
        "an owner confirms a count that differs by more than",
        default=10_000,
        help_text="What the missing or found pieces cost.",
    )

    class Meta:
        verbose_name = "shop settings"
        verbose_name_plural = "shop settings"
        constraints = [
            models.CheckConstraint(
                condition=models.Q(pk=1),
                name="shop_settings_one_row",
                violation_error_message="There is one row of shop settings; edit that one.",
            )
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def tax_in_prices_per_mille(self) -> int:
        """Of what is entered as a price; 0 where prices are entered without tax."""
        return self.tax_per_mille if self.prices_include_tax else 0

    @classmethod
    def load(cls) -> Self:
        """The row, or the defaults while nobody has saved one: reading never writes."""
        return cls.objects.filter(pk=1).first() or cls(pk=1)


class SiteKind(models.TextChoices):
    SHOP = "shop", "Shop"
    VAN = "van", "Service van"
    TRANSIT = "transit", "In transit"


class SiteQuerySet(models.QuerySet["Site"]):
    def selling(self) -> Self:
        """Sites that can sell from their shelves: all but the one for goods on the road."""
        return self.exclude(kind=SiteKind.TRANSIT)


def check_zone(value: str) -> None:
    if value not in available_timezones():
        raise ValidationError(
            f"“{value}” is not a time zone; write one such as America/Chicago or Europe/Oslo."
        )


class Site(models.Model):
    """A place with its own shelves, its own clock and its own days."""

    code = models.CharField("short code", max_length=12)
    name = models.CharField(max_length=80)
    kind = models.CharField(max_length=8, choices=SiteKind.choices, default=SiteKind.SHOP)
    zone = models.CharField("time zone", max_length=64, default="UTC", validators=[check_zone])
    asks_logged_from = models.DateField(
        "lost asks logged since",
        null=True,
        blank=True,
        help_text="From this day the site writes down what it was asked for and did not have; "
        "before it, a day without stock tells nothing about demand.",
    )

    objects = SiteQuerySet.as_manager()

    class Meta:
        ordering = ["code"]
        constraints = [
            models.UniqueConstraint(
                Lower("code"),
                name="site_code_once",
                violation_error_message="Another site has this code; choose a different one.",
            ),
            models.UniqueConstraint(
                fields=["kind"],
                condition=models.Q(kind="transit"),
                name="site_one_in_transit",
                violation_error_message="There is already a site for goods in transit.",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def day_of(self, instant: datetime) -> date:
        """The site's own calendar day at an instant."""
        return instant.astimezone(ZoneInfo(self.zone)).date()

    def today(self) -> date:
        return self.day_of(timezone.now())


class BinKind(models.TextChoices):
    SHELF = "shelf", "Shelf"
    TRAY = "tray", "Job tray"
    CLAIM = "claim", "Claim shelf"


class Bin(models.Model):
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="bins")
    code = models.CharField(max_length=24)
    words = models.CharField("where it is", max_length=80, blank=True)
    kind = models.CharField(max_length=6, choices=BinKind.choices, default=BinKind.SHELF)

    class Meta:
        ordering = ["site", "code"]
        constraints = [
            models.UniqueConstraint(
                "site",
                Lower("code"),
                name="bin_code_once_per_site",
                violation_error_message="This site already has a bin with this code.",
            )
        ]

    def __str__(self) -> str:
        return self.code


class ChangeQuerySet(models.QuerySet["Change"]):
    def of(self, record: models.Model) -> Self:
        return self.filter(kind=record._meta.label, record=str(record.pk))


class Change(models.Model):
    """One edit of a record that matters: prices, policy, people, overrides. Never a keeper."""

    at = models.DateTimeField(default=timezone.now, db_index=True)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    kind = models.CharField(max_length=60)
    record = models.CharField(max_length=40)
    words = models.CharField(max_length=200)
    before: models.JSONField[Any, Any] = models.JSONField(default=dict)
    after: models.JSONField[Any, Any] = models.JSONField(default=dict)

    objects = ChangeQuerySet.as_manager()

    class Meta:
        ordering = ["-at", "-pk"]
        indexes = [models.Index(fields=["kind", "record"])]

    def __str__(self) -> str:
        return f"{self.at:%Y-%m-%d} {self.words}"
