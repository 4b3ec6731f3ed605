"""The one task of the queue: carry out a run. The queue says when, the run what and how far."""

import logging
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress

from django.conf import settings
from django.db import DatabaseError, connection
from django_tasks import task

from shopparts.backup import BackupError
from shopparts.runs import actions, kinds
from shopparts.runs.models import Run, RunStatus

logger = logging.getLogger(__name__)
TELL_EVERY_SECONDS = 1.0
BEATS_BEFORE_DEATH = 6


@task()
def carry_out(pk: int) -> None:
    run = Run.objects.filter(pk=pk).first()
    if run is not None:
        work_on(run, worker=kinds.worker_name())


def work_on(run: Run, *, worker: str) -> None:
    """Carry a waiting run out; whatever happens, it ends and says how."""
    if not actions.take(run, worker=worker):
        return
    try:
        with _beating(run, worker):
            kinds.WORK[run.kind](kinds.Hand(run, worker, _teller(run, worker)))
    except actions.CancelledRunError:
        actions.end(run, worker=worker, status=RunStatus.CANCELLED, words=actions.CANCELLED)
    except BackupError as refused:
        actions.end(run, worker=worker, status=RunStatus.FAILED, words=str(refused))
    except Exception as fault:
        places = actions.places_in(fault)
        logger.error("run %s failed\n%s", run.pk, places)
        words = "This ended with a fault of the program, and nothing was written. Try once more."
        actions.end(run, worker=worker, status=RunStatus.FAILED, words=words, log=places)


def _teller(run: Run, worker: str) -> Callable[[str], None]:
    """Writes how far the work is, at most once a second."""
    next_at = 0.0

    def tell(progress: str) -> None:
        nonlocal next_at
        if time.monotonic() >= next_at:
            actions.beat(run, worker=worker, progress=progress)
            next_at = time.monotonic() + TELL_EVERY_SECONDS

    return tell


@contextmanager
def _beating(run: Run, worker: str) -> Iterator[None]:
    """Beat beside the work, on a connection of its own, so that a long step is not taken for dead.

    While a load writes on SQLite nobody else can, so a beat waits; nor can anybody then give the
    run up, and when the lock is free the run has ended.
    """
    over = threading.Event()
    pause = settings.RUN_DEAD_AFTER.total_seconds() / BEATS_BEFORE_DEATH

    def go_on() -> None:
        try:
            while not over.wait(pause):
                # The next one tries again; that it is cancelled, the work itself finds out.
                with suppress(DatabaseError, actions.CancelledRunError):
                    actions.beat(run, worker=worker)
        finally:
            connection.close()

    thread = threading.Thread(target=go_on, daemon=True)
    thread.start()
    try:
        yield
    finally:
        over.set()
        thread.join()
