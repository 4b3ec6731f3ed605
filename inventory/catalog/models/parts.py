"""Parts, the codes they are known by, what they are made of and what replaces them."""

from typing import Self

from django.core.exceptions import ValidationError
from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import F, Q

from inventory.catalog.codes import normalised
from inventory.catalog.models.words import (
    Band,
    CodeKind,
    Construction,
    Counted,
    Hole,
    Mounting,
    NewId,
    PartKind,
    Preparation,
)

ON_A_WHEEL = (PartKind.ASSEMBLY, PartKind.BODY, PartKind.STEM, PartKind.KIT, PartKind.PLAIN_VALVE)


class PartQuerySet(models.QuerySet["Part"]):
    def known_as(self, code: str) -> Self:
        """Parts with this code: their number, or any code of theirs, compared normalised."""
        key = normalised(code)
        return self.filter(Q(number_key=key) | Q(codes__code_key=key)).distinct()

    def on_band(self, band: str) -> Self:
        return self.filter(**{f"band_{band}": True})

    def fitting_nothing(self) -> Self:
        """Parts of a wheel on no application: not themselves, nor inside or instead of another."""
        return (
            self.filter(kind__in=ON_A_WHEEL)
            .exclude(fitments__isnull=False)
            .exclude(wholes__whole__fitments__isnull=False)
            .exclude(supersedes__old__fitments__isnull=False)
            .exclude(superseded_by__new__fitments__isnull=False)
        )

    def counted(self) -> Self:
        return self.exclude(counted=Counted.NOT)


class Part(models.Model):
    number = models.CharField("number", max_length=40)
    number_key = models.CharField(max_length=40, unique=True, editable=False, blank=True)
    kind = models.CharField(max_length=11, choices=PartKind.choices)
    maker = models.CharField("made by", max_length=60, blank=True)
    words = models.CharField("description", max_length=120, blank=True)
    band_315 = models.BooleanField("315 MHz", default=False)
    band_433 = models.BooleanField("433 MHz", default=False)
    band_other = models.BooleanField("another band", default=False)
    mounting = models.CharField(max_length=8, choices=Mounting.choices, blank=True)
    hole = models.CharField("valve hole", max_length=3, choices=Hole.choices, blank=True)
    rated_pressure_kpa = models.PositiveSmallIntegerField(
        "rated pressure, kPa", null=True, blank=True
    )
    construction = models.CharField(
        max_length=9, choices=Construction.choices, default=Construction.UNKNOWN
    )
    universal = models.BooleanField("universal (for many vehicles)", default=False)
    preparation = models.CharField(
        max_length=7, choices=Preparation.choices, default=Preparation.READY
    )
    preparation_minutes = models.PositiveSmallIntegerField(default=0)
    new_id = models.CharField("id", max_length=6, choices=NewId.choices, default=NewId.NEW)
    # Torque belongs to the sensor, not to the vehicle: blank means "look it up", never a default.
    valve_nut_torque_cnm = models.PositiveIntegerField("valve nut, cN·m", null=True, blank=True)
    body_screw_torque_cnm = models.PositiveIntegerField("body screw, cN·m", null=True, blank=True)
    core_torque_cnm = models.PositiveIntegerField("valve core, cN·m", null=True, blank=True)
    list_price_cents = models.PositiveIntegerField("list price", null=True, blank=True)
    shelf_life_months = models.PositiveSmallIntegerField(
        null=True, blank=True, validators=[MinValueValidator(1)]
    )
    counted = models.CharField(max_length=4, choices=Counted.choices, default=Counted.EACH)

    objects = PartQuerySet.as_manager()

    class Meta:
        ordering = ["number"]
        indexes = [models.Index(fields=["kind", "number_key"])]
        constraints = [
            models.CheckConstraint(
                condition=~Q(kind__in=["body", "assembly"])
                | Q(band_315=True)
                | Q(band_433=True)
                | Q(band_other=True),
                name="part_sensor_has_a_band",
                violation_error_message="A sensor body or assembly needs at least one radio band.",
            ),
        ]

    def __str__(self) -> str:
        return self.number

    def clean(self) -> None:
        self.number_key = normalised(self.number)
        if not self.number_key:
            raise ValidationError({"number": "A part number needs a letter or a digit."})

    @property
    def bands(self) -> tuple[Band, ...]:
        return tuple(band for band in Band if getattr(self, f"band_{band.value}"))

    @property
    def title(self) -> str:
        return f"{self.number} {self.words or self.get_kind_display().lower()}"


class SellingPrice(models.Model):
    """The shop's own price of a part, from a day on."""

    part = models.ForeignKey(Part, on_delete=models.CASCADE, related_name="selling_prices")
    valid_from = models.DateField()
    price_cents = models.PositiveIntegerField()

    class Meta:
        ordering = ["part", "-valid_from"]
        constraints = [
            models.UniqueConstraint(
                fields=["part", "valid_from"],
                name="selling_price_once_a_day",
                violation_error_message="This part already has a price from this day; "
                "edit that one.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.part} from {self.valid_from}"


class PartCode(models.Model):
    """Any code by which a part is known. One code may name several parts, save GTIN and label."""

    part = models.ForeignKey(Part, on_delete=models.CASCADE, related_name="codes")
    kind = models.CharField(max_length=13, choices=CodeKind.choices)
    code = models.CharField(max_length=60)
    code_key = models.CharField(max_length=60, editable=False, blank=True, db_index=True)

    class Meta:
        ordering = ["part", "kind", "code"]
        constraints = [
            models.UniqueConstraint(
                fields=["part", "kind", "code_key"],
                name="part_code_once_per_part",
                violation_error_message="This part already has this code.",
            ),
            models.UniqueConstraint(
                fields=["kind", "code_key"],
                condition=Q(kind__in=["gtin", "label"]),
                name="part_code_gtin_and_label_once",
                violation_error_message="Another part has this GTIN or label; check the code.",
            ),
        ]

    def __str__(self) -> str:
        return self.code

    def clean(self) -> None:
        self.code_key = normalised(self.code)
        if not self.code_key:
            raise ValidationError({"code": "A code needs a letter or a digit."})


class MadeOf(models.Model):
    """An assembly is a body, a stem and a kit; a kit is its pieces."""

    whole = models.ForeignKey(Part, on_delete=models.CASCADE, related_name="pieces")
    piece = models.ForeignKey(Part, on_delete=models.PROTECT, related_name="wholes")
    quantity = models.PositiveSmallIntegerField(default=1, validators=[MinValueValidator(1)])

    class Meta:
        ordering = ["whole", "piece"]
        constraints = [
            models.UniqueConstraint(
                fields=["whole", "piece"],
                name="made_of_once",
                violation_error_message="This piece is already listed; change its quantity.",
            ),
            models.CheckConstraint(
                condition=~Q(whole=F("piece")),
                name="made_of_not_itself",
                violation_error_message="A part cannot be made of itself.",
            ),
            models.CheckConstraint(
                condition=Q(quantity__gte=1),
                name="made_of_at_least_one",
                violation_error_message="A part is made of at least one of each piece.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.whole}: {self.quantity} × {self.piece}"


class Supersession(models.Model):
    old = models.ForeignKey(Part, on_delete=models.CASCADE, related_name="superseded_by")
    new = models.ForeignKey(Part, on_delete=models.CASCADE, related_name="supersedes")
    both_ways = models.BooleanField("the old one also replaces the new", default=False)
    since = models.DateField(null=True, blank=True)
    note = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["old", "new"]
        constraints = [
            models.UniqueConstraint(
                fields=["old", "new"],
                name="supersession_once",
                violation_error_message="This supersession is already listed.",
            ),
            models.CheckConstraint(
                condition=~Q(old=F("new")),
                name="supersession_not_itself",
                violation_error_message="A part cannot supersede itself.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.old} → {self.new}"
