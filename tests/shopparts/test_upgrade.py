"""Databases of earlier releases, as they were written down then, brought up to date today."""

import json
import os
import subprocess
import sys

import pytest
from django.conf import settings

from fixtures.dump_release import FOLDER, version

ON_SQLITE = str(settings.DATABASES["default"]["ENGINE"]).endswith("sqlite3")
DUMPS = sorted(FOLDER.glob("*.sql"))
OF_ONE_RECORD = (
    "inventory:part_detail",
    "inventory:supplier_detail",
    "inventory:order_detail",
    "jobs:job_detail",
    "jobs:vehicle_detail",
    "run_detail",
)


def upgraded(dump, folder):
    environment = os.environ | {"PLANNER_DATA": str(folder)}
    environment.pop("DATABASE_URL", None)
    return subprocess.run(
        [sys.executable, "-m", "tests.shopparts.upgraded", str(dump)],
        cwd=settings.BASE_DIR,
        env=environment,
        capture_output=True,
        text=True,
    )


def test_the_release_of_today_is_written_down():
    assert FOLDER / f"{version()}.sql" in DUMPS


@pytest.mark.skipif(not ON_SQLITE, reason="has a SQLite file of its own; runs once, with SQLite")
class TestUpgraded:
    @pytest.mark.parametrize("dump", DUMPS, ids=lambda dump: dump.stem)
    def test_its_checks_and_audit_pass_and_its_pages_open(self, dump, tmp_path):
        done = upgraded(dump, tmp_path)
        assert done.returncode == 0, done.stdout + done.stderr
        answers = json.loads(done.stdout.splitlines()[-1])
        assert [name for name in OF_ONE_RECORD if answers[name] != 200] == []
        assert max(answers.values()) < 500

    def test_a_shelf_that_disagrees_with_its_movements_is_found(self, tmp_path):
        broken = tmp_path / "broken.sql"
        more = "UPDATE inventory_shelf SET on_hand = on_hand + 1 WHERE id = 1;\n"
        broken.write_text(DUMPS[-1].read_text(encoding="utf-8") + more, encoding="utf-8")
        done = upgraded(broken, tmp_path)
        assert done.returncode == 1
        assert "says 2 on hand; its lots and holds say 1." in done.stdout
