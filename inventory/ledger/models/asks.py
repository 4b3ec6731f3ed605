"""What was wanted here and what came of it: demand, whether or not it was served."""

from typing import Self

from django.conf import settings
from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import F, OuterRef, Q, Sum

from inventory.ledger.models.postings import Posting
from inventory.ledger.models.sums import whole


class AskQuerySet(models.QuerySet["Ask"]):
    def with_settled(self) -> Self:
        """Annotates `settled`: the pieces of which it is known what came of them."""
        by_ask = AskOutcome.objects.filter(ask=OuterRef("pk")).order_by().values("ask")
        return self.annotate(settled=whole(by_ask.annotate(sum=Sum("pieces"))))

    def open(self) -> Self:
        return self.with_settled().filter(settled__lt=F("pieces"))


class Ask(models.Model):
    """Somebody needed this part here: demand, whether or not it was served. Never changed."""

    key = models.CharField(max_length=72, unique=True)
    part = models.ForeignKey(
        "inventory.Part", on_delete=models.PROTECT, related_name="asks", db_index=False
    )
    site = models.ForeignKey(
        "inventory.Site", on_delete=models.PROTECT, related_name="asks", db_index=False
    )
    pieces = models.PositiveIntegerField(validators=[MinValueValidator(1)])
    job_key = models.CharField(max_length=80, blank=True, db_index=True)
    at = models.DateTimeField()
    # The site's own day: usage is counted by it.
    day = models.DateField()
    wish = models.BooleanField("customer's own choice of make or look", default=False)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        null=True,
        related_name="+",
        db_index=False,
    )

    objects = AskQuerySet.as_manager()

    class Meta:
        ordering = ["-at", "-pk"]
        indexes = [models.Index(fields=["part", "site", "day"])]
        constraints = [
            models.CheckConstraint(
                condition=Q(pieces__gte=1),
                name="ask_at_least_one",
                violation_error_message="Ask for at least one piece.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.pieces} × {self.part} on {self.day}"


class How(models.TextChoices):
    SHELF = "shelf", "From the shelf"
    SUBSTITUTE = "substitute", "By a substitute"
    PUT_TOGETHER = "put_together", "Put together"
    BOUGHT_IN = "bought_in", "Bought in"
    MOVED_HERE = "moved_here", "Moved here"
    WAITED = "waited", "Waited"
    LOST = "lost", "Lost for want of a part"
    DECLINED = "declined", "Declined"
    WITHDRAWN = "withdrawn", "Withdrawn"

    @classmethod
    def no_demand(cls) -> tuple["How", ...]:
        return (cls.DECLINED, cls.WITHDRAWN)


class AskOutcome(models.Model):
    """How pieces of an ask were served or not. Never changed; an undo is a row with a minus."""

    key = models.CharField(max_length=80, unique=True)
    ask = models.ForeignKey(Ask, on_delete=models.PROTECT, related_name="outcomes")
    how = models.CharField(max_length=12, choices=How.choices)
    pieces = models.IntegerField()
    at = models.DateTimeField()
    posting = models.ForeignKey(
        Posting, on_delete=models.PROTECT, null=True, blank=True, related_name="outcomes"
    )

    class Meta:
        ordering = ["ask", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(pieces=0),
                name="ask_outcome_of_some_pieces",
                violation_error_message="An outcome is of at least one piece.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.pieces} {self.get_how_display().lower()}"
