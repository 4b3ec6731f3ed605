"""The server killed under load, again and again: what it said was posted is there, and whole."""

import os
import random
import signal
import threading
import time
from contextlib import closing
from http.client import HTTPConnection, HTTPException
from urllib.parse import urlencode

import pytest
from django.conf import settings

from tests.forked import PATIENCE, Parent
from tests.soak import soak

ON_SQLITE = str(settings.DATABASES["default"]["ENGINE"]).endswith("sqlite3")
pytestmark = [
    pytest.mark.soak,
    pytest.mark.skipif(
        not ON_SQLITE, reason="has a SQLite file of its own; runs once, with SQLite"
    ),
]

KILLS = soak(5, 50)
PEOPLE = 4
# Answers to wait for between a start and the kill, so that each kill hits a server at work.
AT_WORK = 12
TOKEN = "k" * 32


class Server(Parent):
    """With the one child that serves at the moment."""

    def __init__(self, folder):
        self.child = 0
        super().__init__("tests.inventory.ledger.killed_server", folder)

    def start(self):
        """Serve; what the audit found in the file that the last kill left."""
        said = self.told("serve")
        self.child = said["pid"]
        return said["faults"]

    def kill(self):
        if self.child:
            os.kill(self.child, signal.SIGKILL)
        self.child = 0

    def end(self):
        self.kill()
        super().end()


@pytest.fixture
def server(tmp_path):
    running = Server(tmp_path)
    yield running
    running.end()


class Person(threading.Thread):
    """Posts form after form; one that got no answer is sent again, with its own key."""

    def __init__(self, server, number, ends):
        super().__init__()
        self.server, self.ends, self.number = server, ends, number
        self.random = random.Random(number)
        self.posted, self.odd, self.retried = [], [], 0

    def run(self):
        count = 0
        while not self.ends.is_set():
            count += 1
            key = f"p{self.number}-{count}"
            path, form = self.form()
            while (answer := self.send(path, form | {"key": key})) is None:
                self.retried += 1
                if self.ends.wait(0.02):
                    return
            status, told = answer
            if status == 302 and "?done=" in told:
                self.posted.append(key)
            else:
                self.odd.append((path, status, told))

    def form(self):
        shop = self.server.shop
        kit, (whole, stem) = self.random.choice(shop["kits"]), self.random.choice(shop["wholes"])
        pieces = self.random.randint(1, 3)
        return self.random.choice(
            [
                (f"/parts/{kit}/issue/", {"pieces": pieces, "occasion": "J 1"}),
                (f"/parts/{kit}/receive/", {"pieces": pieces, "value": "1.01"}),
                (f"/parts/{kit}/scrap/", {"pieces": pieces, "words": "wet"}),
                (f"/parts/{whole}/take-apart/", {"pieces": 1, "used": stem}),
            ]
        )

    def send(self, path, form):
        """Status and place of an answer; None where none came."""
        shop = self.server.shop
        body = urlencode(form | {"site": shop["site"], "csrfmiddlewaretoken": TOKEN})
        headers = {
            "Content-Type": "application/x-www-form-urlencoded",
            "Cookie": f"sessionid={shop['session']}; csrftoken={TOKEN}",
        }
        with closing(HTTPConnection("127.0.0.1", self.server.port, timeout=PATIENCE)) as line:
            try:
                line.request("POST", path, body, headers)
                answer = line.getresponse()
            except (OSError, HTTPException):
                return None
            return answer.status, answer.headers.get("Location", "")


def wait_for_work(people, since):
    """Until the server has answered some more; how many answers there are by then."""
    until = time.monotonic() + PATIENCE
    while (now := sum(len(person.posted) for person in people)) < since + AT_WORK:
        assert time.monotonic() < until, "the server answers no more"
        assert not any(person.odd for person in people), [person.odd for person in people]
        time.sleep(0.005)
    return now


def test_a_killed_server_leaves_nothing_half_posted(server):
    ends, chance = threading.Event(), random.Random(0)
    assert server.start() == []
    people = [Person(server, number, ends) for number in range(PEOPLE)]
    for person in people:
        person.start()
    answered = 0
    try:
        for _ in range(KILLS):
            answered = wait_for_work(people, answered)
            time.sleep(chance.random() * 0.05)
            server.kill()
            said = {key for person in people for key in list(person.posted)}
            assert server.start() == []
            there = {key for (key,) in server.rows("SELECT key FROM inventory_posting")}
            assert said <= there
        wait_for_work(people, answered)
    finally:
        ends.set()
        for person in people:
            person.join()
    assert sum(person.retried for person in people) >= KILLS
    assert [odd for person in people for odd in person.odd] == []
    check_whole(server)


def check_whole(server):
    """Each posting has its movements; what was taken apart and used at once, both postings."""
    bare = server.rows(
        "SELECT key FROM inventory_posting p WHERE NOT EXISTS "
        "(SELECT 1 FROM inventory_movement m WHERE m.posting_id = p.id)"
    )
    assert bare == []
    kinds = server.rows("SELECT kind, key FROM inventory_posting WHERE key LIKE 'p%'")
    apart = {f"{key}/used/1" for kind, key in kinds if kind == "taken_apart"}
    assert apart
    assert apart == {key for _, key in kinds if "/used/" in key}
