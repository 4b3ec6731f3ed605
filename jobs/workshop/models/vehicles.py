"""Whose vehicle it is and which: accounts, keepers who can be forgotten, vehicles and their sets.

What stands under a vehicle is in wheels; what was done to it is in jobs.
"""

from typing import Self

from django.core.validators import MaxValueValidator
from django.db import models
from django.db.models import Q

from inventory.catalog.codes import normalised


class Account(models.Model):
    """A fleet or trade customer: many vehicles, one who approves."""

    name = models.CharField(max_length=80, unique=True)
    order_number_needed = models.BooleanField("wants its order number on every job", default=False)
    approver = models.CharField(max_length=80, blank=True)
    limit_cents = models.PositiveIntegerField("approve above", null=True, blank=True)
    discount_per_mille = models.PositiveSmallIntegerField(
        "discount on prices, per mille", default=0, validators=[MaxValueValidator(1000)]
    )
    policy = models.CharField("what this account wants", max_length=200, blank=True)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class Keeper(models.Model):
    """Whoever brings the vehicle. Name and phone can be erased; the vehicle's history stays."""

    key = models.CharField("our key", max_length=24, unique=True)
    name = models.CharField(max_length=80, blank=True)
    phone = models.CharField(max_length=40, blank=True)
    erased_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["key"]

    def __str__(self) -> str:
        return self.name or "name erased"


class BuiltKnown(models.TextChoices):
    LABEL = "label", "Door label"
    TOLD = "told", "Told by the keeper"
    GUESSED = "guessed", "From the model year"


class VehicleQuerySet(models.QuerySet["Vehicle"]):
    def known_as(self, text: str) -> Self:
        """By VIN, plate or unit number, compared normalised."""
        key = normalised(text)
        return self.filter(Q(vin=key) | Q(plate_key=key) | Q(unit_number__iexact=text.strip()))

    def for_page(self) -> Self:
        """With wheels, their places, ids and pieces, as `standing` and the vehicle's page need."""
        return self.select_related("application", "keeper", "account").prefetch_related(
            "wheel_sets",
            "wheels__wheel_set",
            "wheels__places",
            "wheels__ids",
            "wheels__fitted__part",
            "wheels__fitted__continues__wheel__places",
        )


class Vehicle(models.Model):
    key = models.CharField("our key", max_length=24, unique=True)
    vin = models.CharField("VIN", max_length=17, blank=True, db_index=True)
    plate = models.CharField(max_length=16, blank=True)
    plate_key = models.CharField(max_length=16, blank=True, editable=False, db_index=True)
    application = models.ForeignKey(
        "inventory.Application", on_delete=models.PROTECT, null=True, blank=True
    )
    model_year = models.PositiveSmallIntegerField(null=True, blank=True)
    built_month = models.DateField("built in (month)", null=True, blank=True)
    built_known = models.CharField(max_length=7, choices=BuiltKnown.choices, blank=True)
    in_service_on = models.DateField("in service since", null=True, blank=True)
    keeper = models.ForeignKey(
        Keeper, on_delete=models.SET_NULL, null=True, blank=True, related_name="vehicles"
    )
    account = models.ForeignKey(
        Account, on_delete=models.PROTECT, null=True, blank=True, related_name="vehicles"
    )
    unit_number = models.CharField(max_length=20, blank=True)
    pressure_set_kpa = models.PositiveSmallIntegerField(
        "pressure really set, kPa",
        null=True,
        blank=True,
        help_text="Where it is above the placard, as on a loaded van.",
    )

    objects = VehicleQuerySet.as_manager()

    class Meta:
        ordering = ["key"]
        constraints = [
            models.UniqueConstraint(
                fields=["vin"],
                condition=~Q(vin=""),
                name="vehicle_vin_once",
                violation_error_message="Another vehicle has this VIN; open that one.",
            )
        ]

    def __str__(self) -> str:
        return self.plate or self.unit_number or self.key

    def clean(self) -> None:
        self.vin = normalised(self.vin)
        self.plate_key = normalised(self.plate)


class WheelSet(models.Model):
    """Wheels that are mounted and stored together, such as the winter set."""

    vehicle = models.ForeignKey(Vehicle, on_delete=models.CASCADE, related_name="wheel_sets")
    name = models.CharField(max_length=40)
    stored_where = models.CharField(max_length=60, blank=True)

    class Meta:
        ordering = ["vehicle", "name"]
        constraints = [
            models.UniqueConstraint(
                fields=["vehicle", "name"],
                name="wheel_set_once_per_vehicle",
                violation_error_message="This vehicle already has a set of this name.",
            )
        ]

    def __str__(self) -> str:
        return self.name
