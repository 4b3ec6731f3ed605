"""Runs asked for, taken by a worker, ended once, cancelled, and found when a worker has died."""

import shutil
import traceback
from pathlib import Path
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import F, Value
from django.db.models.functions import Concat, Now
from django.utils import timezone
from django_tasks import TaskResultStatus
from django_tasks_db.models import DBTaskResult

from shopparts.runs.models import KEPT_FOR, Run, RunKind, RunStatus

CANCELLED = "Cancelled before anything was written."
LOAD_DIED = (
    "The worker ended while it loaded this file, and nothing was written. Load the file again."
)
DIED_TWICE = "The worker ended twice while it worked on this. Look at its log, then ask again."
TRIES = 2


class CancelledRunError(Exception):
    """Somebody cancelled the run, or it was given up as dead: nothing may be written any more."""


def ask_for(
    kind: RunKind, *, key: str, by: Any, given: dict[str, Any] | None = None, queued: bool = True
) -> Run:
    """The run with this key, made and given to the workers the first time."""
    from shopparts.runs.tasks import carry_out

    with transaction.atomic():
        run, made = Run.objects.get_or_create(
            key=key, defaults={"kind": kind, "by": by, "given": given or {}}
        )
        if made and queued:
            carry_out.enqueue(run.pk)
    return run


def take(run: Run, *, worker: str) -> bool:
    """Take a waiting run; False when another worker has it or it was cancelled."""
    taken = Run.objects.filter(pk=run.pk, status=RunStatus.WAITING).update(
        status=RunStatus.RUNNING,
        worker=worker,
        tries=F("tries") + 1,
        started_at=timezone.now(),
        beat_at=Now(),
    )
    run.refresh_from_db()
    return bool(taken)


def beat(run: Run, *, worker: str, progress: str | None = None) -> None:
    """Say that the worker lives, and how far it is.

    Raises
    ------
    CancelledRunError
        If the run is no longer this worker's, or somebody cancelled it.
    """
    said = {} if progress is None else {"progress": progress[:200]}
    mine = Run.objects.filter(pk=run.pk, status=RunStatus.RUNNING, worker=worker)
    if not mine.filter(cancel_asked=False).update(beat_at=Now(), **said):
        raise CancelledRunError


def finish(
    run: Run,
    *,
    worker: str,
    words: str,
    told: dict[str, Any] | None = None,
    status: RunStatus = RunStatus.DONE,
) -> None:
    """End a run with its results. Call it in the transaction that writes what the run is for.

    Raises
    ------
    CancelledRunError
        If the run is no longer this worker's, or somebody cancelled it.
    """
    mine = Run.objects.filter(pk=run.pk, status=RunStatus.RUNNING, worker=worker)
    ended = mine.filter(cancel_asked=False).update(
        status=status,
        ended_at=timezone.now(),
        words=words[:400],
        told=told or {},
        progress="",
    )
    if not ended:
        raise CancelledRunError


def end(run: Run, *, worker: str, status: RunStatus, words: str, log: str = "") -> None:
    """End a run that wrote nothing."""
    Run.objects.filter(pk=run.pk, status=RunStatus.RUNNING, worker=worker).update(
        status=status,
        ended_at=timezone.now(),
        words=words[:400],
        progress="",
        log=Concat(F("log"), Value(log)) if log else F("log"),
    )


def cancel(run: Run) -> None:
    """Stop a run: at once while it waits, at its next step while it runs.

    Raises
    ------
    ValidationError
        If it has ended already.
    """
    waiting = Run.objects.filter(pk=run.pk, status=RunStatus.WAITING)
    if waiting.update(status=RunStatus.CANCELLED, ended_at=timezone.now(), words=CANCELLED):
        return
    running = Run.objects.filter(pk=run.pk, status=RunStatus.RUNNING)
    if not running.update(cancel_asked=True):
        raise ValidationError("This has ended already; there is nothing left to cancel.")


def reap() -> int:
    """Find runs whose worker has died; the number found.

    What only reads, or whose repetition does no harm, is queued once more; a load is not, because
    a person should look at what it would change.
    """
    found = 0
    for run in Run.objects.silent():
        with transaction.atomic():
            found += _reap_one(run)
    return found


def _reap_one(run: Run) -> int:
    from shopparts.runs.tasks import carry_out

    # As it was seen: another worker may have been quicker, or the one thought dead has ended it.
    seen = Run.objects.filter(pk=run.pk, status=RunStatus.RUNNING, beat_at=run.beat_at)
    log = f"{run.log}The worker {run.worker} was last heard of at {run.beat_at:%H:%M:%S} UTC.\n"
    if run.kind != RunKind.LOAD and run.tries < TRIES and not run.cancel_asked:
        again = seen.update(status=RunStatus.WAITING, worker="", progress="", log=log)
        if again:
            _close_task(run)
            carry_out.enqueue(run.pk)
        return again
    if run.cancel_asked:
        status, words = RunStatus.CANCELLED, CANCELLED
    else:
        status = RunStatus.FAILED
        words = LOAD_DIED if run.kind == RunKind.LOAD else DIED_TWICE
    _close_task(run)
    return seen.update(status=status, words=words, ended_at=timezone.now(), progress="", log=log)


def _close_task(run: Run) -> None:
    """The queue's own row of a dead worker would say for ever that it runs."""
    for task in DBTaskResult.objects.running():
        if task.args_kwargs["args"] == [run.pk]:
            task.status, task.finished_at = TaskResultStatus.FAILED, timezone.now()
            task.save(update_fields=["status", "finished_at"])


def tidy() -> None:
    """Let runs of two weeks ago go, with their files: an upload may hold names and phones."""
    DBTaskResult.objects.finished().filter(finished_at__lt=timezone.now() - KEPT_FOR).delete()
    for run in Run.objects.old():
        shutil.rmtree(run.folder, ignore_errors=True)
        run.delete()


def places_in(fault: BaseException) -> str:
    """Where a fault came from, without its message, which may quote a person's name."""
    frames = traceback.extract_tb(fault.__traceback__)
    lines = [f"{Path(f.filename).name}, line {f.lineno}, in {f.name}" for f in frames]
    return "\n".join([*lines, type(fault).__name__]) + "\n"
