"""Server and worker killed at once, again and again, in the middle of imports and plans."""

import os
import signal
import sqlite3
import threading
import time
from contextlib import closing
from http.client import HTTPConnection, HTTPException
from itertools import count
from urllib.parse import urlencode

import pytest
from django.conf import settings

from shopparts.runs.actions import LOAD_DIED
from shopparts.runs.models import RunStatus
from tests.forked import PATIENCE, Parent
from tests.shopparts.runs.killed_shop import ROWS, WORDS
from tests.soak import soak

ON_SQLITE = str(settings.DATABASES["default"]["ENGINE"]).endswith("sqlite3")
pytestmark = [
    pytest.mark.soak,
    pytest.mark.skipif(
        not ON_SQLITE, reason="has a SQLite file of its own; runs once, with SQLite"
    ),
]

KILLS = soak(5, 50)
TOKEN = "k" * 32
# The first kill comes at once, the last after the run has usually ended.
LATEST = 1.2


class Shop(Parent):
    """With the server and worker of the moment."""

    def __init__(self, folder):
        self.keys, self.pids = count(100), []
        super().__init__("tests.shopparts.runs.killed_shop", folder)

    def start(self):
        """Server and worker; what the audit found in the file that the last kill left."""
        said = self.told("start")
        self.pids = said["pids"]
        until = time.monotonic() + PATIENCE
        while self.send("GET", "/health/") is None:
            assert time.monotonic() < until, "the server does not come back"
            time.sleep(0.02)
        return said["faults"]

    def kill(self):
        for pid in self.pids:
            os.kill(pid, signal.SIGKILL)
        self.pids = []
        # As if nothing had been heard of them for long.
        with closing(sqlite3.connect(self.file, timeout=PATIENCE)) as file, file:
            file.execute(
                "UPDATE shopparts_run SET beat_at = '2026-01-01 00:00:00' WHERE status = 'running'"
            )

    def end(self):
        self.kill()
        super().end()

    def send(self, method, path, **form):
        """Status and text of an answer; None where the server died before it gave one."""
        headers = {
            "Content-Type": "application/x-www-form-urlencoded",
            "Cookie": f"sessionid={self.shop['session']}; csrftoken={TOKEN}",
        }
        body = urlencode(form | {"csrfmiddlewaretoken": TOKEN}) if method == "POST" else None
        with closing(HTTPConnection("127.0.0.1", self.port, timeout=PATIENCE)) as line:
            try:
                line.request(method, path, body, headers)
                answer = line.getresponse()
                return answer.status, answer.read().decode()
            except (OSError, HTTPException):
                return None

    def ask(self, path):
        """Ask for a run in a thread; the run's key."""
        key = f"{next(self.keys):024x}"
        threading.Thread(target=self.send, args=["POST", path], kwargs={"key": key}).start()
        return key

    def run(self, key):
        found = self.rows("SELECT id, status, words FROM shopparts_run WHERE key = ?", key)
        return found[0] if found else (None, "", "")

    def wait_for(self, key, *status):
        until = time.monotonic() + PATIENCE
        while (run := self.run(key))[1] not in status:
            assert time.monotonic() < until, run
            time.sleep(0.005)
        return run

    def page_says(self, pk, words):
        status, page = self.send("GET", f"/runs/{pk}/")
        assert status == 200
        assert f"<h1>{words}</h1>" in page


@pytest.fixture
def shop(tmp_path):
    running = Shop(tmp_path)
    yield running
    running.end()


def test_killed_shops_leave_no_run_half_done(shop):
    died = {"load": 0, "plan": 0}
    assert shop.start() == []
    for kill in range(KILLS):
        kind, words = ("load", "plan")[kill % 2], WORDS[kill // 2 % 2]
        key = shop.ask(asked_at(shop, kind, words))
        shop.wait_for(key, RunStatus.RUNNING, RunStatus.DONE)
        time.sleep(usual_seconds(shop, kind) * LATEST * kill / KILLS)
        shop.kill()
        died[kind] += shop.run(key)[1] == RunStatus.RUNNING
        check_whole(shop)
        assert shop.start() == []
        pk, status, said = shop.wait_for(key, RunStatus.DONE, RunStatus.FAILED)
        assert status == RunStatus.DONE or said == LOAD_DIED
        shop.page_says(pk, said)
        check_next(shop, kind, words)
    assert min(died.values()) > 0, died


def asked_at(shop, kind, words):
    return "/plan/again/" if kind == "plan" else f"/runs/{shop.shop['checks'][words]}/load/"


def usual_seconds(shop, kind):
    """How long it has taken here so far, so that the kills spread over it and its end."""
    ((days,),) = shop.rows(
        "SELECT avg(julianday(ended_at) - julianday(started_at)) FROM shopparts_run "
        "WHERE kind = ? AND status = 'done'",
        kind,
    )
    return (days or 0) * 24 * 60 * 60


def check_whole(shop):
    """A load's parts all have its words; each finished plan has its run, and there is no other."""
    parts = shop.rows(
        "SELECT words, count(*) FROM inventory_part WHERE number LIKE 'EX-%' GROUP BY words"
    )
    loads = shop.rows(
        "SELECT json_extract(given, '$.file') FROM shopparts_run "
        "WHERE kind = 'load' AND status = 'done' ORDER BY ended_at DESC LIMIT 1"
    )
    assert parts == [(file.removesuffix(".xlsx"), ROWS) for (file,) in loads]
    plans = shop.rows("SELECT status, count(*) FROM inventory_planrun GROUP BY status")
    ((done,),) = shop.rows(
        "SELECT count(*) FROM shopparts_run WHERE kind = 'plan' AND status = 'done'"
    )
    assert plans == ([("done", done)] if done else [])


def check_next(shop, kind, words):
    """Asked for once more, it is done."""
    key = shop.ask(asked_at(shop, kind, words))
    pk, status, said = shop.wait_for(key, RunStatus.DONE, RunStatus.FAILED)
    assert status == RunStatus.DONE
    shop.page_says(pk, said)
    check_whole(shop)
