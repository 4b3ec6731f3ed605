"""Processes beside the tests: in an empty place of their own, or on the tests' own database."""

import os
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path
from urllib.parse import urlsplit

import psycopg
from django.conf import settings
from django.db import connection


class Place:
    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.environment = os.environ | {"PLANNER_DATA": str(folder)}
        if connection.vendor == "postgresql":
            self.name = f"place_{os.getpid()}_{folder.name}".replace("-", "_")
            self._on_server(f"CREATE DATABASE {self.name}")
            address = urlsplit(os.environ["DATABASE_URL"])._replace(path=f"/{self.name}")
            self.environment["DATABASE_URL"] = address.geturl()

    def manage(self, *words: object) -> "subprocess.CompletedProcess[str]":
        return subprocess.run(
            [sys.executable, str(settings.BASE_DIR / "manage.py"), *map(str, words)],
            env=self.environment,
            capture_output=True,
            text=True,
        )

    def rows(self, query: str) -> list[tuple[object, ...]]:
        if connection.vendor == "sqlite":
            with closing(sqlite3.connect(self.folder / "planner.sqlite3", timeout=30)) as there:
                return there.execute(query).fetchall()
        with psycopg.connect(self.environment["DATABASE_URL"]) as there_too:
            return there_too.execute(query).fetchall()

    def close(self) -> None:
        if connection.vendor == "postgresql":
            self._on_server(f"DROP DATABASE {self.name} WITH (FORCE)")

    def _on_server(self, statement: str) -> None:
        with psycopg.connect(os.environ["DATABASE_URL"], autocommit=True) as server:
            server.execute(statement)


class Beside:
    """Processes that work on the tests' own database, beside the tests."""

    def __init__(self, folder: Path, **environment: str) -> None:
        given = connection.settings_dict
        address = (
            f"sqlite:///{given['NAME']}"
            if connection.vendor == "sqlite"
            else urlsplit(os.environ["DATABASE_URL"])._replace(path=f"/{given['NAME']}").geturl()
        )
        own = {"PLANNER_DATA": str(folder), "DATABASE_URL": address}
        self.environment = os.environ | own | environment

    def start(self, *words: str) -> "subprocess.Popen[bytes]":
        command = [sys.executable, str(settings.BASE_DIR / "manage.py"), *words]
        return subprocess.Popen(command, env=self.environment)
