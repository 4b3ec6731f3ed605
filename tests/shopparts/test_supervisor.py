"""The worker beside a server: there, there again after it was killed, and gone with the server."""

import os
import signal
import time

import pytest

from shopparts.runs import actions
from shopparts.runs.models import RunKind, RunStatus
from shopparts.supervisor import Supervisor
from tests.shopparts.place import Beside

SECONDS = 120


def worker_of(key):
    """The process that carried a run out, once it has."""
    run = actions.ask_for(RunKind.PLAN, key=key, by=None)
    until = time.monotonic() + SECONDS
    while run.status != RunStatus.FAILED:
        assert time.monotonic() < until, run.status
        time.sleep(0.05)
        run.refresh_from_db()
    assert run.words == "There is no site to plan for; add one first."
    return int(run.worker.split()[-1])


def is_there(pid):
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    return True


@pytest.mark.django_db(transaction=True)
class TestSupervisor:
    def test_a_killed_worker_is_followed_by_another_and_all_end_with_the_server(
        self, tmp_path, monkeypatch
    ):
        for name, value in Beside(tmp_path).environment.items():
            monkeypatch.setenv(name, value)
        with Supervisor(1):
            first = worker_of("a")
            os.kill(first, signal.SIGKILL)
            second = worker_of("b")
            assert second != first
            assert is_there(second)
        assert not is_there(second)
