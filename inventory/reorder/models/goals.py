"""The goal of one part at one site: it goes before what the shop plans for all of them."""

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils import timezone


class GoalKind(models.TextChoices):
    PERCENT = "percent", "Serve this percent of jobs from the shelf"
    AT_LEAST = "at_least", "Keep at least so many pieces"
    WHEN_ASKED = "asked", "Buy it when asked"


# A comparison with nothing is no refusal to a database: that there is an amount is asked apart.
WITH_AMOUNT = Q(kind__in=[GoalKind.PERCENT, GoalKind.AT_LEAST], amount__isnull=False, amount__gte=1)


class PartGoal(models.Model):
    """What somebody decided for this part, and why; kept until it is taken back."""

    part = models.ForeignKey("inventory.Part", on_delete=models.CASCADE, related_name="goals")
    site = models.ForeignKey("inventory.Site", on_delete=models.CASCADE, related_name="goals")
    kind = models.CharField("goal", max_length=8, choices=GoalKind.choices)
    amount = models.PositiveIntegerField(
        "percent or pieces",
        null=True,
        blank=True,
        validators=[MinValueValidator(1), MaxValueValidator(9_999)],
    )
    words = models.CharField("why", max_length=120)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    set_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["part", "site"]
        constraints = [
            models.UniqueConstraint(
                fields=["part", "site"],
                name="part_goal_once",
                violation_error_message="This part has a goal at this site; change that one.",
            ),
            models.CheckConstraint(
                condition=Q(kind=GoalKind.WHEN_ASKED, amount__isnull=True) | WITH_AMOUNT,
                name="part_goal_amount",
                violation_error_message="Give a percent or a number of pieces; "
                "a part bought when asked has neither.",
            ),
            models.CheckConstraint(
                condition=~Q(kind=GoalKind.PERCENT) | Q(amount__lte=99),
                name="part_goal_percent_below_100",
                violation_error_message="No shelf serves every job: a percent from 1 to 99.",
            ),
        ]

    def __str__(self) -> str:
        return {
            GoalKind.PERCENT: f"{self.amount}% of jobs",
            GoalKind.AT_LEAST: f"at least {self.amount} kept",
            GoalKind.WHEN_ASKED: "bought when asked",
        }[GoalKind(self.kind)]
