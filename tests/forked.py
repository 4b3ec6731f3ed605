"""Processes to be killed: a parent that loads everything once, and forks who does the work.

So that fifty starts take seconds, and nothing but the shop's SQLite file outlives a kill.
"""

import json
import os
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import django
from django.conf import settings
from django.core.management import call_command
from django.test import override_settings

from tests.on_postgres import free_port

PATIENCE = 60


class Parent:
    """A module of the tests, run on a port and on a SQLite file in a folder of its own."""

    def __init__(self, module, folder):
        self.port, self.file = free_port(), folder / "planner.sqlite3"
        environment = os.environ | {"PLANNER_DATA": str(folder)}
        environment.pop("DATABASE_URL", None)
        self.process = subprocess.Popen(
            [sys.executable, "-W", "ignore", "-m", module, str(self.port)],
            cwd=Path(__file__).parents[1],
            env=environment,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        self.shop = self.heard()

    def heard(self):
        assert self.process.stdout
        line = self.process.stdout.readline()
        assert line, "the parent ended by itself"
        return json.loads(line)

    def told(self, words):
        """What it answers to a line."""
        assert self.process.stdin
        self.process.stdin.write(words + "\n")
        self.process.stdin.flush()
        return self.heard()

    def end(self):
        self.process.kill()
        self.process.communicate()

    def rows(self, query, *values):
        with closing(sqlite3.connect(self.file, timeout=PATIENCE)) as database:
            return database.execute(query, values).fetchall()


def set_up() -> None:
    """In the parent, before its shop is made: an empty database, up to date, and plain files."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shopparts.settings")
    django.setup()
    plain = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
    override_settings(STORAGES=settings.STORAGES | {"staticfiles": plain}).enable()
    Path(settings.STATIC_ROOT).mkdir(parents=True, exist_ok=True)
    call_command("migrate", interactive=False, verbosity=0)


def tell(what: object) -> None:
    print(json.dumps(what), flush=True)
