"""One part of the measurements, in a process and on a database of its own: a line of JSON a row.

`python -m tests.bench` starts it; PLANNER_DATA and DATABASE_URL name what may be filled and spoilt.
"""

import contextlib
import importlib
import json
import os
import sys
from collections.abc import Iterator
from dataclasses import asdict

from tests.bench.row import Row


def measured(name: str) -> Iterator[Row]:
    import django
    from django.core.management import call_command

    django.setup()
    call_command("migrate", interactive=False, verbosity=0)
    yield from importlib.import_module(f"tests.bench.{name}").rows()


def main() -> None:
    if "PLANNER_DATA" not in os.environ:
        sys.exit(f"Run `python -m tests.bench {sys.argv[1]}`: it gives this a database of its own.")
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shopparts.settings")
    told = sys.stdout
    # What the commands of the product say is not for the figures.
    with contextlib.redirect_stdout(sys.stderr):
        for row in measured(sys.argv[1]):
            print(json.dumps(asdict(row) | {"reached": row.reached}), file=told, flush=True)


if __name__ == "__main__":
    main()
