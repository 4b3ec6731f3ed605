"""What vehicles need, by make, model and span of years, and how their numbers begin."""

from datetime import date
from typing import Self

from django.core.validators import MaxValueValidator
from django.db import models
from django.db.models import F, Q

from inventory.catalog.codes import normalised
from inventory.catalog.models.words import (
    ApplicationStatus,
    Axle,
    Band,
    Construction,
    Hole,
    Mounting,
    Relearn,
    System,
)


class ApplicationQuerySet(models.QuerySet["Application"]):
    def covering(self, year: int) -> Self:
        return self.filter(year_from__lte=year, year_to__gte=year)

    def built_in(self, month: date) -> Self:
        """Applications whose built-from and built-to months, where given, admit this month."""
        return self.filter(
            Q(built_from=None) | Q(built_from__lte=month), Q(built_to=None) | Q(built_to__gte=month)
        )

    def drafts(self) -> Self:
        return self.filter(status=ApplicationStatus.DRAFT)

    def alike(self, application: "Application") -> Self:
        """Of the same make, model, trim and wheel; the application itself among them."""
        names = ("make", "model", "trim", "wheel")
        return self.filter(**{name: getattr(application, name) for name in names})


class Application(models.Model):
    """A make, model and span of years that takes the same sensors."""

    key = models.CharField("our key", max_length=40, unique=True)
    make = models.CharField(max_length=40)
    model = models.CharField(max_length=60)
    year_from = models.PositiveSmallIntegerField("first model year")
    year_to = models.PositiveSmallIntegerField("last model year")
    built_from = models.DateField("built from (month)", null=True, blank=True)
    built_to = models.DateField("built to (month)", null=True, blank=True)
    trim = models.CharField("trim", max_length=60, blank=True)
    wheel = models.CharField("wheel", max_length=60, blank=True)
    system = models.CharField(max_length=8, choices=System.choices, default=System.DIRECT)
    band = models.CharField(max_length=5, choices=Band.choices, blank=True)
    mounting = models.CharField(max_length=8, choices=Mounting.choices, blank=True)
    construction = models.CharField(
        max_length=9, choices=Construction.choices, default=Construction.UNKNOWN
    )
    hole = models.CharField("valve hole", max_length=3, choices=Hole.choices, blank=True)
    sensor_place = models.CharField("where the sensor sits", max_length=80, blank=True)
    sensors = models.PositiveSmallIntegerField(
        "sensors on the vehicle", default=4, validators=[MaxValueValidator(12)]
    )
    spare_has_sensor = models.BooleanField(default=False)
    placard_front_kpa = models.PositiveSmallIntegerField(null=True, blank=True)
    placard_rear_kpa = models.PositiveSmallIntegerField(null=True, blank=True)
    placard_spare_kpa = models.PositiveSmallIntegerField(null=True, blank=True)
    rated_weight_kg = models.PositiveIntegerField("gross weight rating, kg", null=True, blank=True)
    top_speed_kmh = models.PositiveSmallIntegerField("top speed, km/h", null=True, blank=True)
    wheel_nut_torque_cnm = models.PositiveIntegerField(
        "wheel nut torque, cN·m", null=True, blank=True
    )
    ids_stored = models.PositiveSmallIntegerField("ids the vehicle stores", null=True, blank=True)
    relearn = models.CharField("re-learn", max_length=10, choices=Relearn.choices, blank=True)
    relearn_minutes = models.PositiveSmallIntegerField(null=True, blank=True)
    relearn_steps = models.TextField("re-learn steps, in the shop's words", blank=True)
    relearn_source = models.CharField("where the steps come from", max_length=120, blank=True)
    status = models.CharField(
        max_length=7, choices=ApplicationStatus.choices, default=ApplicationStatus.CHECKED
    )
    source = models.CharField("where these facts come from", max_length=120, blank=True)
    source_date = models.DateField(null=True, blank=True)
    # What the search looks through first, by exact match and prefix: make, model and trim.
    search_key = models.CharField(
        max_length=170, editable=False, blank=True, default="", db_index=True
    )

    objects = ApplicationQuerySet.as_manager()

    class Meta:
        ordering = ["make", "model", "year_from", "built_from", "key"]
        indexes = [models.Index(fields=["make", "model", "year_from"])]
        constraints = [
            models.CheckConstraint(
                condition=Q(year_from__lte=F("year_to")),
                name="application_years_in_order",
                violation_error_message="The first model year comes after the last; swap them.",
            ),
            models.CheckConstraint(
                condition=Q(built_from=None) | Q(built_to=None) | Q(built_from__lte=F("built_to")),
                name="application_built_in_order",
                violation_error_message="“Built from” comes after “built to”; swap them.",
            ),
            models.CheckConstraint(
                condition=Q(system="indirect", band="") | Q(system="direct"),
                name="application_indirect_has_no_band",
                violation_error_message="An indirect system has no sensor in the wheel; "
                "leave the band blank.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.years} {self.make} {self.model} {self.trim}".rstrip()

    def clean(self) -> None:
        self.search_key = normalised(f"{self.make}{self.model}{self.trim}")

    @property
    def years(self) -> str:
        first, last = self.year_from, self.year_to
        return str(first) if first == last else f"{first}–{last}"

    @property
    def is_draft(self) -> bool:
        return self.status == ApplicationStatus.DRAFT

    @property
    def is_direct(self) -> bool:
        return self.system == System.DIRECT

    def placard_kpa(self, axle: str) -> int | None:
        return {
            Axle.FRONT: self.placard_front_kpa,
            Axle.REAR: self.placard_rear_kpa,
            Axle.SPARE: self.placard_spare_kpa,
        }.get(Axle(axle), self.placard_front_kpa)


class VinPattern(models.Model):
    """First eight characters of a VIN and a model year, seen on vehicles of this application."""

    start = models.CharField("first eight characters", max_length=8)
    year = models.PositiveSmallIntegerField()
    application = models.ForeignKey(
        Application, on_delete=models.CASCADE, related_name="vin_patterns"
    )
    vehicles = models.PositiveIntegerField("vehicles seen", default=1)

    class Meta:
        ordering = ["start", "year", "-vehicles"]
        constraints = [
            models.UniqueConstraint(
                fields=["start", "year", "application"],
                name="vin_pattern_once",
                violation_error_message="This pattern is already known.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.start} {self.year}"
