"""A backup put back into an empty place, and proved there."""

import os
import shutil
import tempfile
import zipfile
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.db import connection
from django.db.migrations.loader import MigrationLoader

from inventory.ledger.audit import Fault, audit
from shopparts.backup import CONTENT, BackupError, about_of, check_sqlite, run_program

WORDS = {"sqlite": "SQLite", "postgresql": "PostgreSQL"}


def restore(path: Path) -> list[Fault]:
    """Put a backup into the empty database of this shop; what does not agree in its stock.

    Raises
    ------
    BackupError
        If the backup is damaged, of another kind or of a newer program, or the place is not empty;
        nothing is written then.
    """
    about = about_of(path)
    _refuse_other_kind(about)
    _refuse_newer_program(about)
    _refuse_full_place()
    put = _put_sqlite if connection.vendor == "sqlite" else _put_postgres
    with tempfile.TemporaryDirectory(prefix=".restoring-", dir=_data_folder()) as place:
        with zipfile.ZipFile(path) as book:
            name = CONTENT[connection.vendor]
            content = Path(book.extract(name, place))
        put(content)
    call_command("migrate", interactive=False, verbosity=0)
    return audit()


def _data_folder() -> Path:
    folder: Path = settings.DATA_DIR
    folder.mkdir(parents=True, exist_ok=True)
    return folder


def _refuse_other_kind(about: dict[str, Any]) -> None:
    if about["database"] != connection.vendor:
        theirs, ours = WORDS[about["database"]], WORDS[connection.vendor]
        raise BackupError(
            f"This backup is of {theirs} and this shop runs on {ours}. Restore it where "
            f"DATABASE_URL names {theirs}, then carry the shop over with save_workbook and "
            "load_workbook."
        )


def _refuse_newer_program(about: dict[str, Any]) -> None:
    known = {".".join(key) for key in MigrationLoader(None, ignore_no_migrations=True).graph.nodes}
    if unknown := sorted(set(about.get("migrations", ())) - known):
        raise BackupError(
            f"This backup was made by a newer program ({unknown[0]} is not known here). "
            "Bring the program up to date, then restore."
        )


def _refuse_full_place() -> None:
    if connection.introspection.table_names():
        place = connection.settings_dict["NAME"]
        raise BackupError(
            f"The database {place} holds a shop already, and a backup is only put into an empty "
            "place. Set PLANNER_DATA to an empty folder or DATABASE_URL to an empty database."
        )


def _put_sqlite(content: Path) -> None:
    check_sqlite(content)
    target = Path(connection.settings_dict["NAME"])
    # Looking at the empty place has made its files; a log left there would be read into the copy.
    connection.close()
    for ending in ("-wal", "-shm"):
        target.with_name(target.name + ending).unlink(missing_ok=True)
    with content.open("rb+") as file:
        os.fsync(file.fileno())
    shutil.move(content, target)


def _put_postgres(content: Path) -> None:
    connection.close()
    run_program(
        "pg_restore",
        "--no-owner",
        "--no-privileges",
        "--single-transaction",
        "--exit-on-error",
        f"--dbname={connection.settings_dict['NAME']}",
        str(content),
    )
