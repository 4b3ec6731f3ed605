"""A worker: carries out what was asked for, one thing at a time, and looks after the queue."""

import logging
import os
import signal
import threading
from argparse import ArgumentParser
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand
from django.db import DatabaseError, connection
from django_tasks_db.management.commands.db_worker import Worker

from shopparts.runs.actions import reap
from shopparts.runs.care import take_care
from shopparts.runs.kinds import worker_name

logger = logging.getLogger(__name__)
CARE_SECONDS = 10.0


class Command(BaseCommand):
    help = "Carry out waiting runs until stopped; any number of workers may do so side by side."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--under", type=int, metavar="PID", help="stop when this parent process has ended"
        )
        parser.add_argument("--until-idle", action="store_true", help="stop when nothing waits")

    def handle(self, *args: Any, **options: Any) -> None:
        worker = Worker(
            queue_names=["default"],
            interval=1.0,
            batch=options["until_idle"],
            backend_name="default",
            startup_delay=False,
            max_tasks=None,
            worker_id=worker_name(),
            excluded_queue_names=[],
        )
        if options["until_idle"]:
            reap()
        else:
            threading.Thread(target=_look_after, args=[options["under"]], daemon=True).start()
        worker.configure_signals()
        worker.run()


def _look_after(parent: int | None) -> None:
    pause = min(CARE_SECONDS, settings.RUN_DEAD_AFTER.total_seconds() / 3)
    wait = threading.Event()
    while parent is None or os.getppid() == parent:
        try:
            take_care()
        except (DatabaseError, OSError) as fault:
            # Such as a long load that holds the lock: the next round comes soon.
            logger.warning("the queue could not be looked after: %s", type(fault).__name__)
        connection.close()
        wait.wait(pause)
    os.kill(os.getpid(), signal.SIGTERM)
