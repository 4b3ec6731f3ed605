"""Backups: one zip file a backup, with the whole database and a note of what it is.

A backup is listed only once it has been read back and found whole; what was begun and not ended is
never taken for one.
"""

import json
import os
import shutil
import sqlite3
import subprocess
import tempfile
import zipfile
from collections.abc import Sequence
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import connection
from django.db.migrations.recorder import MigrationRecorder
from django.utils import timezone

NAME = "planner-%Y%m%d-%H%M%S.zip"
ABOUT = "about.json"
CONTENT = {"sqlite": "planner.sqlite3", "postgresql": "planner.dump"}
NEWEST_KEPT, DAYS_KEPT, MONTHS_KEPT = 7, 14, 12
EVERY = timedelta(hours=24)


class BackupError(Exception):
    """Why there is no backup, or why one cannot be used, and what to do."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Backup:
    path: Path
    made_at: datetime
    size: int

    @property
    def is_late(self) -> bool:
        """Whether another one should have been made by now."""
        return timezone.now() - self.made_at > EVERY + timedelta(hours=2)


def backups() -> list[Backup]:
    """Those that were found whole when they were made, newest first."""
    found = []
    for path in settings.BACKUP_DIR.glob("planner-*.zip"):
        try:
            made_at = datetime.strptime(path.name, NAME).replace(tzinfo=UTC)
        except ValueError:
            continue
        found.append(Backup(path=path, made_at=made_at, size=path.stat().st_size))
    return sorted(found, key=lambda one: one.made_at, reverse=True)


def make_backup() -> Backup:
    """Write the database down, read it back, keep it, and let old ones go.

    Raises
    ------
    BackupError
        If it cannot be written or is not whole; those there already stay as they are.
    """
    folder: Path = settings.BACKUP_DIR
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=".making-", dir=folder) as place:
            made = _made_in(Path(place))
            path = _free_name(folder)
            os.replace(made, path)
    except OSError as broken:
        raise BackupError(
            f"No backup was made: {folder} cannot be written ({broken.strerror}). "
            "Free some room or mend its rights, then back up again."
        ) from None
    _let_old_ones_go()
    return next(one for one in backups() if one.path == path)


def _made_in(place: Path) -> Path:
    content = place / CONTENT[connection.vendor]
    if connection.vendor == "sqlite":
        copy_sqlite(content)
    else:
        _dump_postgres(content)
    about = {
        "database": connection.vendor,
        "made_at": timezone.now().isoformat(),
        "migrations": sorted(".".join(key) for key in _applied()),
    }
    packed = place / "backup.zip"
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as book:
        book.writestr(ABOUT, json.dumps(about))
        book.write(content, content.name)
    about_of(packed)
    with packed.open("rb+") as file:
        os.fsync(file.fileno())
    packed.chmod(0o600)
    return packed


def _applied() -> Sequence[tuple[str, str]]:
    return list(MigrationRecorder(connection).applied_migrations())


def _free_name(folder: Path) -> Path:
    """One backup a second has a name of its own; a second one in it takes the next."""
    at = timezone.now().astimezone(UTC)
    while (path := folder / at.strftime(NAME)).exists():
        at += timedelta(seconds=1)
    return path


def copy_sqlite(copy: Path) -> None:
    """A copy as of one instant, while others go on writing, on a connection of its own."""
    source = f"file:{connection.settings_dict['NAME']}?mode=ro"
    try:
        with closing(sqlite3.connect(source, uri=True, timeout=30)) as there:
            there.execute("VACUUM INTO ?", [str(copy)])
    except sqlite3.Error as broken:
        raise BackupError(
            f"No backup was made: the database cannot be read ({broken}). "
            "Restore the last good backup."
        ) from None
    check_sqlite(copy)


def check_sqlite(path: Path) -> None:
    """Refuse a file that SQLite itself finds broken."""
    try:
        with closing(sqlite3.connect(f"file:{path}?mode=ro", uri=True)) as copy:
            said = copy.execute("PRAGMA integrity_check").fetchone()[0]
            lost = copy.execute("PRAGMA foreign_key_check").fetchone()
    except sqlite3.Error as broken:
        said, lost = str(broken), None
    if said != "ok" or lost:
        why = said if said != "ok" else f"a row of {lost[0]} names one of {lost[2]} that is gone"
        raise BackupError(f"The database is damaged ({why}). Take an earlier backup.")


def _dump_postgres(content: Path) -> None:
    run_program("pg_dump", "--format=custom", f"--file={content}")
    run_program("pg_restore", "--list", str(content))


def run_program(name: str, *words: str) -> None:
    """Run a program of PostgreSQL on the shop's database; its password stays out of the list."""
    path = shutil.which(name) or next(
        (str(p) for p in sorted(Path("/usr/lib/postgresql").glob(f"*/bin/{name}"), reverse=True)),
        "",
    )
    if not path:
        raise BackupError(
            f"The program {name} was not found. Install the client programs of PostgreSQL "
            "(Debian: apt-get install postgresql-client) and try again."
        )
    done = subprocess.run(
        [path, *words], env=os.environ | _postgres_names(), capture_output=True, text=True
    )
    if done.returncode:
        said = (done.stderr.strip().splitlines() or ["no reason given"])[-1]
        raise BackupError(f"{name} ended with a fault: {said}")


def _postgres_names() -> dict[str, str]:
    given: dict[str, Any] = connection.settings_dict
    names = {"NAME": "DATABASE", "HOST": "HOST", "PORT": "PORT", "USER": "USER"}
    names["PASSWORD"] = "PASSWORD"
    return {f"PG{theirs}": str(given[ours]) for ours, theirs in names.items() if given.get(ours)}


def about_of(path: Path) -> dict[str, Any]:
    """What a backup says of itself, after every byte of it was read and agreed.

    Raises
    ------
    BackupError
        If it is not there, is no backup, or any part of it was changed since it was made.
    """
    try:
        with zipfile.ZipFile(path) as book:
            broken = book.testzip()
            about: dict[str, Any] = {} if broken else json.loads(book.read(ABOUT))
    except OSError as missing:
        raise BackupError(
            f"The backup “{path}” cannot be read ({missing.strerror}); check its name and place."
        ) from None
    except (zipfile.BadZipFile, KeyError, ValueError, EOFError, NotImplementedError) as damage:
        raise BackupError(_damaged(path)) from damage
    except Exception as damage:
        # A changed byte may be anywhere: zlib and struct have errors of their own.
        raise BackupError(_damaged(path)) from damage
    if broken or about.get("database") not in CONTENT:
        raise BackupError(_damaged(path))
    return about


def _damaged(path: Path) -> str:
    return f"“{path.name}” is damaged or no backup of a shop; take an earlier one."


def _let_old_ones_go() -> None:
    found = backups()
    keep = kept([one.made_at for one in found])
    for one in found:
        if one.made_at not in keep:
            one.path.unlink(missing_ok=True)


def kept(made: Sequence[datetime]) -> set[datetime]:
    """Of all backups the newest seven, one a day of fourteen days, one a month of twelve months.

    Days and months without a backup do not count, so that a shop that rests keeps its old ones.
    """
    newest = sorted(made, reverse=True)
    days: dict[Any, datetime] = {}
    months: dict[Any, datetime] = {}
    for at in newest:
        days.setdefault(at.date(), at)
        months.setdefault((at.year, at.month), at)
    return {
        *newest[:NEWEST_KEPT],
        *list(days.values())[:DAYS_KEPT],
        *list(months.values())[:MONTHS_KEPT],
    }
