"""What the shop decides about advice: assumptions and rules an owner can change."""

from math import log
from typing import Self

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from jobs.replacement.priors import DEFAULT_PRIORS, Prior


class AdviceSettings(models.Model):
    """One row."""

    rubber_stem_months = models.PositiveSmallIntegerField(
        "with the tire off, replace a rubber stem older than, months",
        null=True,
        blank=True,
        help_text="Blank: always.",
    )
    close_below_percent = models.PositiveSmallIntegerField(
        "too close to call below, percent",
        default=65,
        validators=[MinValueValidator(50), MaxValueValidator(99)],
        help_text="How many of the likely lifetimes must agree on an action.",
    )
    our_warranty_months = models.PositiveSmallIntegerField(
        "our warranty on a part fitted, months", default=12
    )
    years_to_tire_change = models.PositiveSmallIntegerField(
        "years between tire changes", default=4, validators=[MinValueValidator(1)]
    )
    visits_left = models.PositiveSmallIntegerField(
        "tire changes left in a vehicle's life",
        default=2,
        validators=[MinValueValidator(1), MaxValueValidator(6)],
    )
    dismount_minutes = models.PositiveSmallIntegerField(
        "taking a tire off for one sensor, minutes", default=20
    )
    visit_minutes = models.PositiveSmallIntegerField(
        "a return visit besides that, minutes",
        default=20,
        help_text="Taking in, reading all wheels, setting pressures, road check.",
    )
    relearn_minutes = models.PositiveSmallIntegerField(
        "re-learn, where the vehicle does not say, minutes", default=10
    )

    class Meta:
        verbose_name = verbose_name_plural = "advice settings"
        constraints = [
            models.CheckConstraint(
                condition=Q(pk=1),
                name="advice_settings_one_row",
                violation_error_message="There is one row of advice settings; edit that one.",
            )
        ]

    def __str__(self) -> str:
        return "Advice settings"

    @classmethod
    def load(cls) -> Self:
        """The row, or the defaults while nobody has saved one: reading never writes."""
        return cls.objects.filter(pk=1).first() or cls(pk=1)


class Belief(models.Model):
    """What is assumed about how long a kind of part lasts, before the shop's own records speak."""

    kind = models.CharField(
        max_length=12, unique=True, choices=[(k, k.replace("_", " ")) for k in DEFAULT_PRIORS]
    )
    typical_years = models.DecimalField(
        "typical life, years",
        max_digits=4,
        decimal_places=1,
        validators=[MinValueValidator(1), MaxValueValidator(60)],
        help_text="About two in three have failed by then.",
    )
    steepness = models.DecimalField(
        max_digits=3,
        decimal_places=1,
        validators=[MinValueValidator(1), MaxValueValidator(9)],
        help_text="1: fails at any age alike; 5: most fail close to the typical life.",
    )

    class Meta:
        ordering = ["kind"]

    def __str__(self) -> str:
        return self.get_kind_display()

    def prior(self) -> Prior:
        """The owner moves the middle of a belief; how unsure it is stays as it was."""
        default = DEFAULT_PRIORS[self.kind]
        return Prior(
            mean_log_scale=log(self.typical_years),
            sd_log_scale=default.sd_log_scale,
            mean_log_shape=log(self.steepness),
            sd_log_shape=default.sd_log_shape,
        )
