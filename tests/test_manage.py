"""What the command line says before a shop has its database."""

import os
import subprocess
import sys
from pathlib import Path

TOP = Path(__file__).parents[1]


class TestMain:
    def test_says_what_to_do_first_where_nothing_was_migrated_yet(self, tmp_path):
        environment = os.environ | {"PLANNER_DATA": str(tmp_path)}
        environment.pop("DATABASE_URL", None)
        done = subprocess.run(
            [sys.executable, "manage.py", "audit_stock"],
            cwd=TOP,
            env=environment,
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 1
        assert done.stderr == (
            "This shop's database is not up to date yet; run “manage.py start” once, or "
            "“manage.py migrate”, then try again.\n"
        )
