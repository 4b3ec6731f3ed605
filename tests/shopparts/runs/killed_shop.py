"""A shop to be killed: `python -m tests.shopparts.runs.killed_shop PORT`, told on its input.

The process itself loads everything once and does no work. For each line it reads it audits the
shop's SQLite file, forks a server and a worker on it, and says what it found and whom it started.
"""

import os
import signal
import sys
from collections.abc import Callable
from datetime import timedelta
from importlib import import_module
from typing import Any

import waitress
from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.core.wsgi import get_wsgi_application
from django.db import connections
from django.test import Client
from django.utils import timezone

from tests.forked import set_up, tell

WORDS = ("red", "blue")
ROWS, SHELVES = 1_000, 30


def main(port: int) -> None:
    set_up()
    tell(make_shop())
    application = get_wsgi_application()
    import_module(settings.ROOT_URLCONF)
    # The dead are not waited for.
    signal.signal(signal.SIGCHLD, signal.SIG_IGN)

    def serve() -> None:
        waitress.serve(application, host="127.0.0.1", port=port, threads=4, _quiet=True)

    for _ in sys.stdin:
        faults = found()
        started = [forked(serve), forked(lambda: call_command("work"))]
        tell({"faults": faults, "pids": started})


def found() -> list[str]:
    from inventory.ledger.audit import audit

    faults = [str(fault) for fault in audit()]
    connections.close_all()
    return faults


def forked(work: Callable[[], object]) -> int:
    child = os.fork()
    if child == 0:
        signal.signal(signal.SIGCHLD, signal.SIG_DFL)
        work()
        os._exit(0)
    return child


def make_shop() -> dict[str, Any]:
    """Shelves with some use to plan, a signed-in person, and two checked files to load."""
    from inventory.ledger.actions import issue_stock
    from inventory.shop.roles import Role
    from shopparts.runs.uploads import check_upload
    from tests.make import make_part, make_site, make_stock, make_user
    from tests.shopparts.workbook.book import PARTS_HEAD, write_book

    site, manager, now = make_site(), make_user(Role.PARTS_MANAGER), timezone.now()
    for number in range(SHELVES):
        part = make_part("kit")
        make_stock(part, site, pieces=40, at=now - timedelta(days=200))
        for week in range(4):
            at = now - timedelta(days=7 * week + 1)
            issue_stock(part, site=site, pieces=1, by=manager, key=f"{number}-{week}", at=at)
    checks = {}
    for number, words in enumerate(WORDS):
        rows = [[f"EX-{row}", "Kit", "", words] for row in range(ROWS)]
        book = write_book(
            settings.DATA_DIR / "book.xlsx", Parts=[[*PARTS_HEAD, "Description"], *rows]
        )
        upload = SimpleUploadedFile(f"{words}.xlsx", book.read_bytes())
        checks[words] = check_upload(upload, key=f"{number:024x}", by=manager).pk
    client = Client()
    client.force_login(manager, "django.contrib.auth.backends.ModelBackend")
    return {"session": client.cookies[settings.SESSION_COOKIE_NAME].value, "checks": checks}


if __name__ == "__main__":
    main(int(sys.argv[1]))
