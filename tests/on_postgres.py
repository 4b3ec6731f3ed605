"""Run a command on a PostgreSQL server of its own: `python -m tests.on_postgres pytest …`.

The server lives in a temporary folder and ends with the command. Where its programs are not
installed the command is not run: a sentence says how to get them, and the exit code is 0, or 1
when PLANNER_TESTS_REQUIRED is set.
"""

import contextlib
import os
import shutil
import socket
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

MISSING = (
    "PostgreSQL tests skipped: initdb and pg_ctl were not found. "
    "Install them (Debian: apt-get install postgresql) and run the tests again."
)


def programs() -> Path | None:
    """The folder of the newest server programs: on the path, or where Debian keeps them."""
    if found := shutil.which("initdb"):
        return Path(found).resolve().parent
    kept = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    return kept[-1].parent if kept else None


def as_plain_person(command: list[str]) -> list[str]:
    """The server refuses to run as root, so root lends it the account Debian made for it."""
    if os.geteuid() != 0:
        return command
    return ["setpriv", "--reuid=postgres", "--regid=postgres", "--clear-groups", *command]


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@contextlib.contextmanager
def server(programs: Path) -> Iterator[str]:
    """A running server; yields its address as a DATABASE_URL."""
    with tempfile.TemporaryDirectory(prefix="planner-pg-") as folder:
        if os.geteuid() == 0:
            shutil.chown(folder, "postgres", "postgres")
        data, port = f"{folder}/data", free_port()

        def run(*command: str) -> None:
            subprocess.run(
                as_plain_person([str(programs / command[0]), *command[1:]]),
                check=True,
                stdout=subprocess.DEVNULL,
                cwd=folder,
            )

        run("initdb", "-D", data, "-U", "planner", "-A", "trust", "-E", "UTF8", "--no-sync")
        # No fsync: the tests end this server themselves, and nobody pulls its plug.
        options = f"-p {port} -h 127.0.0.1 -k {folder} -c fsync=off -c max_connections=120"
        # Who waits this long waits for ever: an error with its place says more than silence.
        options += " -c lock_timeout=3min"
        run("pg_ctl", "-D", data, "-w", "-o", options, "-l", f"{folder}/log", "start")
        try:
            yield f"postgresql://planner@127.0.0.1:{port}/postgres"
        finally:
            run("pg_ctl", "-D", data, "-m", "immediate", "stop")


def main(command: list[str]) -> int:
    found = programs()
    if found is None:
        sys.stdout.write(MISSING + "\n")
        return 1 if os.environ.get("PLANNER_TESTS_REQUIRED") else 0
    with server(found) as address:
        environment = os.environ | {"DATABASE_URL": address}
        return subprocess.run([sys.executable, "-m", *command], env=environment).returncode


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
