"""Measures every row of the speed table in one run: `make bench`.

Each module of this package that has `rows()` yields its rows; ours against a yardstick of the same
run. Prints a table, writes bench.json, and asserts nothing: whether a figure is good is for people.
"""

import importlib
import json
import os
import pkgutil
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path
from types import ModuleType

import tests.bench
from tests.bench.row import Row


def modules(wanted: list[str]) -> Iterator[ModuleType]:
    for found in pkgutil.iter_modules(tests.bench.__path__):
        if found.name.startswith("__") or (wanted and found.name not in wanted):
            continue
        module = importlib.import_module(f"tests.bench.{found.name}")
        if hasattr(module, "rows"):
            yield module


def line(row: Row) -> str:
    side = "≥" if row.at_least else "≤"
    verdict = "reached" if row.reached else "NOT REACHED"
    return (
        f"{row.work}: {row.ratio:.3g} × {row.against} "
        f"(goal {side} {row.goal:g}, {verdict}). {row.words}"
    )


def main() -> None:
    with tempfile.TemporaryDirectory(prefix="planner-bench-") as folder:
        # A folder and a database of its own: measuring writes and deletes.
        os.environ["PLANNER_DATA"] = folder
        os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shopparts.settings")
        import django
        from django.core.management import call_command

        django.setup()
        call_command("migrate", interactive=False, verbosity=0)
        found: list[Row] = []
        for module in modules(sys.argv[1:]):
            for row in module.rows():
                print(line(row), flush=True)
                found.append(row)
    kept = [asdict(row) | {"reached": row.reached} for row in found]
    Path("bench.json").write_text(json.dumps(kept, indent=2, ensure_ascii=False), encoding="utf-8")


if __name__ == "__main__":
    main()
