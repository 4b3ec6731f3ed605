"""Wheels, where each stood and which id it answered with, from–to.

A wheel is known by its own history, never by where it stands or by the id of its sensor.
"""

from typing import Self

from django.db import models
from django.db.models import F, Q

from inventory.catalog.models import Hole
from jobs.workshop.models.vehicles import Vehicle, WheelSet


class WheelKind(models.TextChoices):
    BUILT = "built", "As built"
    REPLACEMENT = "replacement", "Replacement wheel"
    OWN = "own", "Customer's own choice"


class WheelQuerySet(models.QuerySet["Wheel"]):
    def mounted(self) -> Self:
        """On the vehicle now, the spare included."""
        return self.filter(pk__in=Place.objects.now().mounted().values("wheel"))

    def on_the_road(self) -> Self:
        """On the vehicle now, without the spare."""
        rolling = Place.objects.now().filter(position__in=CORNERS)
        return self.filter(pk__in=rolling.values("wheel"))


class Wheel(models.Model):
    key = models.CharField("our key", max_length=28, unique=True)
    vehicle = models.ForeignKey(Vehicle, on_delete=models.CASCADE, related_name="wheels")
    wheel_set = models.ForeignKey(
        WheelSet, on_delete=models.SET_NULL, null=True, blank=True, related_name="wheels"
    )
    kind = models.CharField(max_length=11, choices=WheelKind.choices, default=WheelKind.BUILT)
    hole = models.CharField("valve hole", max_length=3, choices=Hole.choices, blank=True)
    tire_size = models.CharField(max_length=24, blank=True)
    tire_date_code = models.CharField(
        "tire date code", max_length=4, blank=True, help_text="Week and year as molded: WWYY."
    )
    tread_tenths_mm = models.PositiveSmallIntegerField("tread, 0.1 mm", null=True, blank=True)
    tire_fitted_on = models.DateField(null=True, blank=True)

    objects = WheelQuerySet.as_manager()

    class Meta:
        ordering = ["vehicle", "key"]

    def __str__(self) -> str:
        return self.key


class IdOrigin(models.TextChoices):
    FACTORY = "factory", "Factory"
    NEW = "new", "New sensor"
    COPIED = "copied", "Copied from the old sensor"


class WheelId(models.Model):
    """The id a wheel answered with, from–to. Copies repeat, so an id alone names no wheel."""

    wheel = models.ForeignKey(Wheel, on_delete=models.CASCADE, related_name="ids")
    sensor_id = models.CharField("sensor id (hex)", max_length=16, db_index=True)
    origin = models.CharField(max_length=7, choices=IdOrigin.choices)
    since = models.DateField()
    until = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["wheel", "since"]
        constraints = [
            models.UniqueConstraint(
                fields=["wheel", "since"],
                name="wheel_id_once_a_day",
                violation_error_message="This wheel already has an id from that day; "
                "change that one.",
            ),
            models.UniqueConstraint(
                fields=["wheel"],
                condition=Q(until=None),
                name="wheel_id_one_now",
                violation_error_message="This wheel already has an id; end that one first.",
            ),
            models.CheckConstraint(
                condition=Q(until=None) | Q(since__lte=F("until")),
                name="wheel_id_in_order",
                violation_error_message="An id cannot end before it begins.",
            ),
        ]

    def __str__(self) -> str:
        return self.sensor_id


class Position(models.TextChoices):
    FRONT_LEFT = "front_left", "Front left"
    FRONT_RIGHT = "front_right", "Front right"
    REAR_LEFT = "rear_left", "Rear left"
    REAR_RIGHT = "rear_right", "Rear right"
    SPARE = "spare", "Spare"
    STORED = "stored", "Stored"


CORNERS = (
    Position.FRONT_LEFT,
    Position.FRONT_RIGHT,
    Position.REAR_LEFT,
    Position.REAR_RIGHT,
)


class PlaceQuerySet(models.QuerySet["Place"]):
    def now(self) -> Self:
        return self.filter(until=None)

    def mounted(self) -> Self:
        return self.exclude(position=Position.STORED)

    def of(self, vehicle: Vehicle) -> Self:
        return self.filter(wheel__vehicle=vehicle)


class Place(models.Model):
    """Where a wheel stood, from–to."""

    wheel = models.ForeignKey(Wheel, on_delete=models.CASCADE, related_name="places")
    position = models.CharField(max_length=11, choices=Position.choices)
    since = models.DateField()
    until = models.DateField(null=True, blank=True)

    objects = PlaceQuerySet.as_manager()

    class Meta:
        ordering = ["wheel", "since"]
        constraints = [
            models.UniqueConstraint(
                fields=["wheel", "since"],
                name="place_once_a_day",
                violation_error_message="This wheel already came to a place that day; "
                "change that one.",
            ),
            models.UniqueConstraint(
                fields=["wheel"],
                condition=Q(until=None),
                name="place_one_now",
                violation_error_message="This wheel already stands somewhere; move it from there.",
            ),
            models.CheckConstraint(
                condition=Q(until=None) | Q(since__lte=F("until")),
                name="place_in_order",
                violation_error_message="A wheel cannot leave before it came.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.wheel} {self.get_position_display().lower()}"
