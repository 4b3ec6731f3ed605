"""Keeps the workers of one machine running beside its web server."""

import logging
import os
import subprocess
import sys
import threading

from django.conf import settings

logger = logging.getLogger(__name__)
SECONDS_TO_END = 20
PAUSE_SECONDS = 2.0


class Supervisor:
    """Starts workers, starts each again that ends, and ends them with the server."""

    def __init__(self, workers: int) -> None:
        self._over = threading.Event()
        self._threads = [threading.Thread(target=self._keep, daemon=True) for _ in range(workers)]

    def __enter__(self) -> "Supervisor":
        for thread in self._threads:
            thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._over.set()
        for thread in self._threads:
            thread.join()

    def _keep(self) -> None:
        while not self._over.is_set():
            worker = subprocess.Popen(
                [
                    sys.executable,
                    str(settings.BASE_DIR / "manage.py"),
                    "work",
                    f"--under={os.getpid()}",
                ]
            )
            while worker.poll() is None and not self._over.wait(0.5):
                pass
            if worker.poll() is None:
                self._end(worker)
            elif not self._over.wait(PAUSE_SECONDS):
                logger.warning("a worker ended with %s; another one starts", worker.returncode)

    @staticmethod
    def _end(worker: "subprocess.Popen[bytes]") -> None:
        worker.terminate()
        try:
            worker.wait(SECONDS_TO_END)
        except subprocess.TimeoutExpired:
            # What it did is taken back by the database, and its run is given up as dead.
            worker.kill()
            worker.wait()
