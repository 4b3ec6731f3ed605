"""Measure on the database of the run and on a PostgreSQL server of its own, where one is there.

The server's process is another one, because Django speaks to one database from its start.
"""

import json
import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import asdict

from tests.bench.row import Row
from tests.on_postgres import programs, server


def on_both(name: str, measured: Callable[[], Row]) -> Iterator[Row]:
    yield measured()
    if found := programs():
        with server(found) as address:
            told = subprocess.run(
                [sys.executable, "-m", f"tests.bench.{name}"],
                env=os.environ | {"DATABASE_URL": address},
                check=True,
                capture_output=True,
                text=True,
            )
        yield Row(**json.loads(told.stdout))


def print_measured(name: str, measured: Callable[[], Row]) -> None:
    """On the database that DATABASE_URL names: one made for this."""
    if "DATABASE_URL" not in os.environ:
        sys.exit(f"Run `python -m tests.bench {name}`: this measures in a database of its own.")
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shopparts.settings")
    import django
    from django.core.management import call_command

    django.setup()
    call_command("migrate", interactive=False, verbosity=0)
    print(json.dumps(asdict(measured())))
