"""Backups: made while others write, read back, rotated; and what is refused as one."""

import json
import sqlite3
import threading
import zipfile
from datetime import UTC, datetime, timedelta
from io import StringIO

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import connection

from inventory.ledger.models import Posting
from shopparts.backup import BackupError, about_of, backups, check_sqlite, kept, make_backup
from shopparts.restore import restore
from tests.make import make_part, make_site, make_stock
from tests.shopparts.place import Place

WRITERS = 3


@pytest.fixture
def folder(settings, tmp_path):
    settings.BACKUP_DIR = tmp_path / "backups"
    return settings.BACKUP_DIR


@pytest.fixture
def place(tmp_path):
    (tmp_path / "empty").mkdir()
    made = Place(tmp_path / "empty")
    yield made
    made.close()


def writing(work):
    """Threads that go on working until the function returned is called."""
    enough = threading.Event()

    def run():
        while not enough.is_set():
            work()
        connection.close()

    threads = [threading.Thread(target=run) for _ in range(WRITERS)]
    for thread in threads:
        thread.start()

    def stop():
        enough.set()
        for thread in threads:
            thread.join()

    return stop


def rows_of(query):
    with connection.cursor() as cursor:
        cursor.execute(query)
        return [tuple(row) for row in cursor.fetchall()]


@pytest.mark.django_db
class TestBackup:
    movements = "SELECT id, posting_id, lot_id, pieces, cents FROM inventory_movement ORDER BY id"
    parts = "SELECT id, number, number_key, band_433 FROM inventory_part ORDER BY id"

    @pytest.mark.django_db(transaction=True)
    def test_made_while_others_post_it_restores_as_one_instant(self, folder, place):
        site, part = make_site(), make_part()
        stop = writing(lambda: make_stock(part, site, pieces=3))
        try:
            while Posting.objects.count() < 20:
                pass
            before = set(rows_of(self.movements))
            made = make_backup()
        finally:
            stop()
        after = set(rows_of(self.movements))
        done = place.manage("restore", made.path)
        there = set(place.rows(self.movements))
        assert before <= there <= after
        assert place.rows(self.parts) == rows_of(self.parts)
        assert done.stdout == f"Restored; the stock agrees with all {len(there)} movements.\n"

    def test_the_command_says_where_it_lies(self, folder):
        out = StringIO()
        call_command("backup", "--json", stdout=out)
        told = json.loads(out.getvalue())
        (made,) = backups()
        assert told == {"file": str(made.path), "bytes": made.size, "kept": 1}
        assert made.path.stat().st_mode & 0o777 == 0o600

    def test_two_within_a_second_are_two(self, folder):
        assert make_backup().path != make_backup().path
        assert len(backups()) == 2

    def test_a_folder_that_cannot_be_written_is_named(self, folder):
        folder.parent.joinpath("backups").write_text("a file in the way")
        with pytest.raises(CommandError) as refused:
            call_command("backup")
        assert str(refused.value) == (
            f"No backup was made: {folder} cannot be written (File exists). "
            "Free some room or mend its rights, then back up again."
        )

    def test_what_was_begun_and_not_ended_is_no_backup(self, folder):
        (folder / ".making-1").mkdir(parents=True)
        (folder / "planner-copy.zip").write_bytes(b"")
        assert backups() == []


@pytest.mark.django_db
class TestRestore:
    def test_refuses_a_backup_with_one_byte_changed_wherever_it_matters(self, folder):
        path = make_backup().path
        whole, content = path.read_bytes(), unpacked(path)
        refused = 0
        sentence = f"“{path.name}” is damaged or no backup of a shop; take an earlier one."
        for part in range(1, 40):
            at = len(whole) * part // 40
            path.write_bytes(whole[:at] + bytes([whole[at] ^ 0x10]) + whole[at + 1 :])
            refusal = refused_as(path)
            refused += bool(refusal)
            # There are two ways to pack one run of zeros: then nothing was lost.
            assert refusal == sentence if refusal else unpacked(path) == content
        assert refused > 20

    def test_refuses_one_cut_short(self, folder):
        path = make_backup().path
        path.write_bytes(path.read_bytes()[:-100])
        with pytest.raises(BackupError, match="is damaged or no backup of a shop"):
            restore(path)

    def test_refuses_one_that_is_not_there(self, tmp_path):
        with pytest.raises(BackupError) as refused:
            restore(tmp_path / "gone.zip")
        assert str(refused.value) == (
            f"The backup “{tmp_path / 'gone.zip'}” cannot be read (No such file or directory); "
            "check its name and place."
        )

    def test_refuses_a_place_that_holds_a_shop(self, folder):
        with pytest.raises(BackupError) as refused:
            restore(make_backup().path)
        assert str(refused.value) == (
            f"The database {connection.settings_dict['NAME']} holds a shop already, and a backup "
            "is only put into an empty place. Set PLANNER_DATA to an empty folder or DATABASE_URL "
            "to an empty database."
        )

    def test_refuses_one_of_the_other_database(self, tmp_path):
        other = {"sqlite": "postgresql", "postgresql": "sqlite"}[connection.vendor]
        with pytest.raises(BackupError, match=r"carry the shop over with save_workbook and load_"):
            restore(packed(tmp_path, database=other))

    def test_refuses_one_of_a_newer_program(self, tmp_path):
        path = packed(tmp_path, database=connection.vendor, migrations=["inventory.9999_later"])
        with pytest.raises(BackupError) as refused:
            restore(path)
        assert str(refused.value) == (
            "This backup was made by a newer program (inventory.9999_later is not known here). "
            "Bring the program up to date, then restore."
        )


def refused_as(path):
    try:
        about_of(path)
    except BackupError as refusal:
        return str(refusal)
    return ""


def unpacked(path):
    with zipfile.ZipFile(path) as book:
        return {name: book.read(name) for name in book.namelist()}


def packed(folder, **about):
    path = folder / "planner-20260101-000000.zip"
    with zipfile.ZipFile(path, "w") as book:
        book.writestr("about.json", json.dumps(about))
    return path


class TestAboutOf:
    def test_any_other_zip_is_no_backup(self, tmp_path):
        path = tmp_path / "pictures.zip"
        with zipfile.ZipFile(path, "w") as book:
            book.writestr("picture.svg", "<svg/>")
        with pytest.raises(BackupError, match="is damaged or no backup of a shop"):
            about_of(path)


class TestCheckSqlite:
    def test_refuses_a_database_with_a_page_overwritten(self, tmp_path):
        path = tmp_path / "broken.sqlite3"
        with sqlite3.connect(path) as made:
            made.execute("CREATE TABLE line (words TEXT)")
            made.executemany("INSERT INTO line VALUES (?)", [("x" * 400,)] * 200)
        made.close()
        whole = path.read_bytes()
        path.write_bytes(whole[:8192] + b"\xff" * 4096 + whole[12288:])
        with pytest.raises(BackupError, match=r"^The database is damaged \("):
            check_sqlite(path)


class TestKept:
    def test_the_newest_seven_a_day_of_fourteen_days_a_month_of_twelve(self):
        now = datetime(2026, 11, 24, 12, tzinfo=UTC)
        hourly = [now - timedelta(hours=hour) for hour in range(24 * 500)]
        keep = sorted(kept(hourly), reverse=True)
        assert keep[:7] == hourly[:7]
        days = {at.date() for at in keep}
        assert {(now - timedelta(days=day)).date() for day in range(14)} <= days
        assert len({(at.year, at.month) for at in keep}) == 12
        # Seven of the first day, thirteen days more, and the months that none of those days is of.
        assert len(keep) == 7 + 13 + 11

    def test_few_all_stay_however_old(self):
        old = [datetime(2020, 1, day, tzinfo=UTC) for day in range(1, 8)]
        assert kept(old) == set(old)
