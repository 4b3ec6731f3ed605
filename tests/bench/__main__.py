"""Measures every row of the speed table in one run: `make bench`; some with the names of parts.

Each part runs in a process and on a database of its own, ours against a yardstick of the same
run, in a fixed order; one that fails loses nobody else's figures. Every row goes into bench.json
as it comes, in the place of the one it measures again, with the day, the state of the code and
how busy the machine was, and those of a whole run into the README. Asserts nothing: whether a
figure is good is for people.
"""

import json
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from tests.bench.readme import write_table
from tests.on_postgres import programs, server

TOLD = Path("bench.json")
# The rows of the speed table first, then what else is measured.
PARTS = (
    "planning",
    "plan",
    "fit",
    "ledger",
    "workbook",
    "replacement",
    "pages",
    "money",
    "backtest",
    "expected",
)
ON_BOTH_DATABASES = {"plan", "ledger", "money"}
Measured = dict[str, Any]


def chosen(wanted: list[str]) -> list[str]:
    if unknown := set(wanted) - set(PARTS):
        sys.exit(f"No part is called {min(unknown)}; there are {', '.join(PARTS)}.")
    return [part for part in PARTS if part in wanted or not wanted]


@contextmanager
def surroundings(database: str) -> Iterator[dict[str, str]]:
    """An empty data folder and, for PostgreSQL, a server; their environment."""
    with tempfile.TemporaryDirectory(prefix="planner-bench-") as folder:
        own = {name: told for name, told in os.environ.items() if name != "DATABASE_URL"}
        own["PLANNER_DATA"] = folder
        found = programs() if database == "postgresql" else None
        if not found:
            yield own
            return
        with server(found) as address:
            yield own | {"DATABASE_URL": address}


def stamp(part: str, database: str) -> Measured:
    told = ["git", "describe", "--always", "--dirty"]
    code = subprocess.run(told, capture_output=True, text=True, check=False).stdout.strip()
    return {
        "part": part,
        "database": database,
        "at": datetime.now(UTC).isoformat(timespec="minutes"),
        "code": code,
        "python": sys.version.split()[0],
        "cores": os.cpu_count(),
        "load_before": round(os.getloadavg()[0], 1),
    }


def measure(part: str, database: str) -> bool:
    """Keeps each row as it comes; whether the part came to its end."""
    stamped, start, new = stamp(part, database), time.perf_counter(), []
    with surroundings(database) as environment, tempfile.TemporaryFile("w+") as errors:
        run = subprocess.Popen(
            [sys.executable, "-m", "tests.bench.part", part],
            env=environment, stdout=subprocess.PIPE, stderr=errors, text=True,
        )  # fmt: skip
        try:
            for text in run.stdout or ():
                load = {"load_after": round(os.getloadavg()[0], 1)}
                new.append(json.loads(text) | stamped | load)
                keep(new)
                print(line(new[-1]), flush=True)
            ended = run.wait() == 0
        finally:
            run.kill()
        errors.seek(0)
        last = errors.read().strip().splitlines()[-1:]
    print(f"{part}, {database}: {time.perf_counter() - start:.0f} s", *([] if ended else last))
    if ended:
        keep(new, whole=True)
    return ended


def keep(new: list[Measured], *, whole: bool = False) -> None:
    """Into the file, instead of the same rows; of a whole part nothing older stays."""
    if not new:
        return
    part = new[0]["part"], new[0]["database"]
    works = {row["work"] for row in new}

    def stays(row: Measured) -> bool:
        own = (row["part"], row["database"]) == part
        return not (own and (whole or row["work"] in works))

    rows = [*filter(stays, kept()), *new]
    rows.sort(key=lambda row: (PARTS.index(row["part"]), row["database"] != "sqlite"))
    TOLD.write_text(json.dumps(rows, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")


def kept() -> list[Measured]:
    rows = json.loads(TOLD.read_text(encoding="utf-8")) if TOLD.exists() else []
    return [row for row in rows if row.get("part") in PARTS]


def line(row: Measured) -> str:
    side, verdict = "≥" if row["at_least"] else "≤", "reached" if row["reached"] else "MISSED"
    return (
        f"{row['work']}: {row['ratio']:.3g} × {row['against']} "
        f"(goal {side} {row['goal']:g}, {verdict}). {row['words']}"
    )


def table(rows: list[Measured]) -> str:
    width = max(len(row["work"]) for row in rows)
    return "\n".join(
        f"{row['work']:<{width}}  {row['ratio']:>8.3g}  {'≥' if row['at_least'] else '≤'} "
        f"{row['goal']:<6g} {'' if row['reached'] else 'MISSED'}"
        for row in rows
    )


def main() -> None:
    failed, start = [], time.perf_counter()
    parts = chosen(sys.argv[1:])
    for part in parts:
        both = part in ON_BOTH_DATABASES and programs()
        for database in ("sqlite", "postgresql") if both else ("sqlite",):
            if not measure(part, database):
                failed.append(f"{part} on {database}")
    if rows := [row for row in kept() if row["part"] in parts]:
        print("", table(rows), sep="\n")
    if not sys.argv[1:]:
        write_table(kept())
    print(f"\n{time.perf_counter() - start:.0f} s in all; {TOLD} holds the figures.")
    if failed:
        sys.exit(f"Not measured to the end: {', '.join(failed)}.")


if __name__ == "__main__":
    main()
