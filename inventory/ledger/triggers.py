"""Rows that cannot be changed or deleted, whoever writes SQL: triggers on both databases.

SQLite drops a table's triggers when a migration rebuilds the table, so every such migration ends
with `RecreateTriggers()`; a system check and `audit_stock` fail while one is missing.
"""

from collections.abc import Iterable
from typing import Any

from django.core.checks import CheckMessage, Error, Tags, register
from django.db import connections
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.migrations.operations import RunPython

APPEND_ONLY = (
    "inventory_posting",
    "inventory_movement",
    "inventory_ask",
    "inventory_askoutcome",
)

FUNCTION = """
CREATE OR REPLACE FUNCTION {table}_stays() RETURNS trigger AS $$
BEGIN RAISE EXCEPTION '{table} is append-only: post a correction instead'
USING ERRCODE = 'integrity_constraint_violation'; END $$ LANGUAGE plpgsql"""
ON_POSTGRES = """
CREATE OR REPLACE TRIGGER {table}_stays BEFORE UPDATE OR DELETE ON {table}
FOR EACH ROW EXECUTE FUNCTION {table}_stays()"""
ON_SQLITE = """
CREATE TRIGGER IF NOT EXISTS {table}_stays_{event} BEFORE {event} ON {table}
BEGIN SELECT RAISE(ABORT, '{table} is append-only: post a correction instead'); END"""


def names(vendor: str) -> set[str]:
    if vendor == "sqlite":
        return {f"{t}_stays_{event}" for t in APPEND_ONLY for event in ("update", "delete")}
    return {f"{table}_stays" for table in APPEND_ONLY}


def create_triggers(connection: BaseDatabaseWrapper) -> None:
    with connection.cursor() as cursor:
        for table in APPEND_ONLY:
            if connection.vendor == "sqlite":
                for event in ("update", "delete"):
                    cursor.execute(ON_SQLITE.format(table=table, event=event))
            else:
                cursor.execute(FUNCTION.format(table=table))
                cursor.execute(ON_POSTGRES.format(table=table))


def drop_triggers(connection: BaseDatabaseWrapper) -> None:
    with connection.cursor() as cursor:
        for table in APPEND_ONLY:
            if connection.vendor == "sqlite":
                for event in ("update", "delete"):
                    cursor.execute(f"DROP TRIGGER IF EXISTS {table}_stays_{event}")
            else:
                cursor.execute(f"DROP TRIGGER IF EXISTS {table}_stays ON {table}")


def missing_triggers(connection: BaseDatabaseWrapper) -> list[str]:
    query = (
        "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        if connection.vendor == "sqlite"
        else "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal AND tgenabled <> 'D'"
    )
    with connection.cursor() as cursor:
        cursor.execute(query)
        there = {row[0] for row in cursor.fetchall()}
    return sorted(names(connection.vendor) - there)


class RecreateTriggers(RunPython):
    """Migration operation: (re)create all triggers; backwards it drops them."""

    def __init__(self) -> None:
        super().__init__(
            lambda apps, editor: create_triggers(editor.connection),
            lambda apps, editor: drop_triggers(editor.connection),
        )

    def deconstruct(self) -> tuple[str, list[Any], dict[str, Any]]:
        return ("RecreateTriggers", [], {})


@register(Tags.database)
def check_triggers(databases: Iterable[str] | None = None, **kwargs: Any) -> list[CheckMessage]:
    faults: list[CheckMessage] = []
    for alias in databases or ():
        connection = connections[alias]
        if "inventory_movement" not in connection.introspection.table_names():
            continue
        faults += [
            Error(
                f"The trigger {name} is missing from the database “{alias}”.",
                hint="Run migrate; a migration that rebuilds the table must recreate it.",
                id="inventory.E001",
            )
            for name in missing_triggers(connection)
        ]
    return faults
