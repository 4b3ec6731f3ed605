"""A server to be killed: `python -m tests.inventory.ledger.killed_server PORT`, told on its input.

The process itself loads everything once and never serves. For each line it reads it forks a child
that opens the shop's SQLite file anew, audits it, says what it found and serves until it is killed.
"""

import os
import sys
from importlib import import_module
from typing import Any

import waitress
from django.conf import settings
from django.core.wsgi import get_wsgi_application
from django.db import connections
from django.test import Client

from tests.forked import set_up, tell

KITS, WHOLES, PIECES = 6, 4, 100_000
THREADS = 8


def main(port: int) -> None:
    set_up()
    tell(make_shop())
    application = get_wsgi_application()
    import_module(settings.ROOT_URLCONF)
    connections.close_all()
    for _ in sys.stdin:
        if os.fork() == 0:
            serve(application, port)
        os.wait()


def make_shop() -> dict[str, Any]:
    """Plenty of kits, and of wholes that are taken apart; who is signed in, and what there is."""
    from inventory.catalog.models import MadeOf
    from inventory.shop.roles import Role
    from tests.make import make_part, make_site, make_stock, make_user

    site = make_site()
    kits = [make_part("kit") for _ in range(KITS)]
    wholes, stems = [], []
    for _ in range(WHOLES):
        whole, body, stem = make_part(), make_part("body"), make_part("stem")
        for piece in (body, stem):
            MadeOf.objects.create(whole=whole, piece=piece)
        wholes.append(whole)
        stems.append(stem)
    for part in (*kits, *wholes):
        make_stock(part, site, pieces=PIECES, value_cents=PIECES * 137 + 1)
    client = Client()
    client.force_login(
        make_user(Role.PARTS_MANAGER, home_site=site), "django.contrib.auth.backends.ModelBackend"
    )
    return {
        "session": client.cookies[settings.SESSION_COOKIE_NAME].value,
        "site": site.pk,
        "kits": [part.pk for part in kits],
        "wholes": [[whole.pk, stem.pk] for whole, stem in zip(wholes, stems, strict=True)],
    }


def serve(application: object, port: int) -> None:
    from inventory.ledger.audit import audit

    tell({"pid": os.getpid(), "faults": [str(fault) for fault in audit()]})
    waitress.serve(application, host="127.0.0.1", port=port, threads=THREADS, _quiet=True)


if __name__ == "__main__":
    main(int(sys.argv[1]))
