"""Long work done by a worker: what was asked, how far it is, what came of it."""

from datetime import timedelta
from pathlib import Path
from typing import Any, Self

from django.conf import settings
from django.db import models
from django.db.models.functions import Now
from django.utils import timezone

KEPT_FOR = timedelta(days=14)


class RunKind(models.TextChoices):
    CHECK = "check", "Check of a workbook"
    LOAD = "load", "Load of a workbook"
    SAVE = "save", "Workbook of the whole shop"
    PLAN = "plan", "Plan"
    BACKUP = "backup", "Backup"


class RunStatus(models.TextChoices):
    WAITING = "waiting", "Waiting"
    RUNNING = "running", "Running"
    DONE = "done", "Done"
    FAILED = "failed", "Failed"
    CANCELLED = "cancelled", "Cancelled"


OPEN = (RunStatus.WAITING, RunStatus.RUNNING)


class RunQuerySet(models.QuerySet["Run"]):
    def open(self) -> Self:
        return self.filter(status__in=OPEN)

    def silent(self) -> Self:
        """Running, and no worker has been heard of for longer than one can be busy.

        By the clock of the database, which all workers share.
        """
        late = Now() - models.Value(settings.RUN_DEAD_AFTER, models.DurationField())
        at = models.ExpressionWrapper(late, models.DateTimeField())
        return self.filter(status=RunStatus.RUNNING, beat_at__lt=at)

    def old(self) -> Self:
        return self.exclude(status__in=OPEN).filter(asked_at__lt=timezone.now() - KEPT_FOR)

    def recent(self) -> Self:
        return self.select_related("by").order_by("-asked_at", "-pk")


class Run(models.Model):
    """One piece of long work. Its end and what it wrote are one transaction: both or neither.

    given : what the work needs, such as the name of the uploaded file
    told : what came of it, for its page
    """

    key = models.CharField(max_length=64, unique=True)
    kind = models.CharField(max_length=6, choices=RunKind.choices)
    status = models.CharField(
        max_length=9, choices=RunStatus.choices, default=RunStatus.WAITING, db_index=True
    )
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    asked_at = models.DateTimeField(default=timezone.now)
    started_at = models.DateTimeField(null=True)
    beat_at = models.DateTimeField(null=True)
    ended_at = models.DateTimeField(null=True)
    worker = models.CharField(max_length=64, blank=True)
    tries = models.PositiveSmallIntegerField(default=0)
    cancel_asked = models.BooleanField(default=False)
    given: models.JSONField[Any, Any] = models.JSONField(default=dict)
    progress = models.CharField(max_length=200, blank=True)
    words = models.CharField(max_length=400, blank=True)
    told: models.JSONField[Any, Any] = models.JSONField(default=dict)
    log = models.TextField(blank=True)

    objects = RunQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(status__in=RunStatus.values, kind__in=RunKind.values),
                name="run_status_and_kind_known",
                violation_error_message="A run is of a known kind and in a known state.",
            )
        ]

    def __str__(self) -> str:
        return self.get_kind_display()

    @property
    def is_open(self) -> bool:
        return self.status in OPEN

    @property
    def folder(self) -> Path:
        """Where its files lie: an upload, a marked copy, what it wrote."""
        return Path(settings.FILES_DIR) / self.key

    @property
    def file(self) -> Path | None:
        """What it wrote to be fetched, if that is still there."""
        name = self.told.get("file")
        path = self.folder / name if name else None
        return path if path and path.is_file() else None
