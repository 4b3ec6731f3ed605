"""A count on paper or phone: what was counted where, and when. The postings tell what came of it.

Working papers, not records: a workbook carries the postings of a count, and not its sheet.
"""

from typing import Self

from django.conf import settings
from django.db import models
from django.db.models import Exists, F, OuterRef, Q
from django.utils import timezone

from inventory.ledger.models.postings import Movement, Posting


class CountSheet(models.Model):
    """Shelves to be counted while the work in the bay goes on."""

    key = models.CharField(max_length=64, unique=True)
    site = models.ForeignKey("inventory.Site", on_delete=models.PROTECT, related_name="+")
    title = models.CharField(max_length=80)
    started_at = models.DateTimeField(default=timezone.now)
    closed_at = models.DateTimeField(null=True, blank=True)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )

    class Meta:
        ordering = ["-started_at", "-pk"]

    def __str__(self) -> str:
        return self.title


class CountLineQuerySet(models.QuerySet["CountLine"]):
    def with_late(self) -> Self:
        """Annotates `late`: something that had happened by then was written down afterwards.

        Movements of one shelf are numbered in the order in which they reached it, so those with a
        number above the last one the count was compared with were not known to it.
        """
        unknown = Movement.objects.filter(
            part=OuterRef("part"),
            site=OuterRef("sheet__site"),
            pk__gt=OuterRef("compared_to"),
            posting__happened_at__lte=OuterRef("seen_at"),
        )
        in_its_bin = Exists(unknown.filter(lot__bin=OuterRef("bin")))
        return self.annotate(late=Q(in_its_bin) | Q(Q(bin=None) & Q(Exists(unknown))))

    def for_count_sheet(self) -> Self:
        lines = self.with_late().select_related("part", "bin", "posting__undone_by", "counted_by")
        return lines.order_by(F("bin__code").asc(nulls_last=True), "part__number")


class CountLine(models.Model):
    """One part in one bin, or in all bins together; compared with the ledger as it was counted."""

    sheet = models.ForeignKey(CountSheet, on_delete=models.CASCADE, related_name="lines")
    part = models.ForeignKey("inventory.Part", on_delete=models.PROTECT, related_name="+")
    bin = models.ForeignKey("inventory.Bin", on_delete=models.PROTECT, null=True, blank=True)
    counted = models.PositiveIntegerField(null=True, blank=True)
    counted_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    # The form that counted it: sent twice, it counts once.
    counted_key = models.CharField(max_length=64, blank=True)
    seen_at = models.DateTimeField(null=True, blank=True)
    # The last movement the ledger knew when the count was compared with it.
    compared_to = models.PositiveBigIntegerField(default=0)
    difference = models.IntegerField(null=True, blank=True)
    posting = models.ForeignKey(
        Posting, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    # Where a query annotated it.
    late: bool

    objects = CountLineQuerySet.as_manager()

    class Meta:
        ordering = ["sheet", "bin", "part"]
        constraints = [
            models.UniqueConstraint(
                fields=["sheet", "part", "bin"],
                name="count_line_once",
                violation_error_message="This part in this bin is on the sheet already.",
            ),
            models.UniqueConstraint(
                fields=["sheet", "part"],
                condition=Q(bin=None),
                name="count_line_once_without_bin",
                violation_error_message="This part is on the sheet already.",
            ),
            models.CheckConstraint(
                condition=Q(counted=None) | Q(seen_at__isnull=False, difference__isnull=False),
                name="count_line_compared",
                violation_error_message="A count is compared with the ledger when it is made.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.part} in {self.bin}" if self.bin else f"{self.part} in all bins"

    @property
    def is_reopened(self) -> bool:
        """Counted, but the ledger has learnt since what had happened before."""
        undone = self.posting is not None and hasattr(self.posting, "undone_by")
        return self.counted is not None and (undone or self.late)

    @property
    def is_done(self) -> bool:
        return self.posting is not None and not self.is_reopened

    @property
    def differs(self) -> bool:
        return self.counted is not None and self.posting is None and not self.is_reopened
