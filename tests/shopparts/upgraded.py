"""A shop of an earlier release brought up to date: `python -m tests.shopparts.upgraded DUMP`.

A process of its own, on a new SQLite file in the data folder it is given. Prints what each page
answered to an owner.
"""

import json
import os
import sqlite3
import sys
from contextlib import closing
from pathlib import Path

import django
from django.conf import settings
from django.core.management import call_command
from django.test import Client, override_settings
from django.urls import reverse


def main(dump: str) -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shopparts.settings")
    with closing(sqlite3.connect(Path(os.environ["PLANNER_DATA"], "planner.sqlite3"))) as new:
        new.executescript(Path(dump).read_text(encoding="utf-8"))
    django.setup()
    call_command("migrate", interactive=False, verbosity=0)
    call_command("check", databases=["default"])
    call_command("audit_stock")
    plain = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
    with override_settings(STORAGES=settings.STORAGES | {"staticfiles": plain}):
        print(json.dumps(pages()))


def pages() -> dict[str, int]:
    """Every page without an argument, or of the record that was made first."""
    from inventory.shop.roles import Role
    from shopparts.models import User
    from tests.addresses import own_addresses

    Path(settings.STATIC_ROOT).mkdir(parents=True, exist_ok=True)
    client = Client(SERVER_NAME="localhost")
    owner = User.objects.get(role=Role.OWNER)
    client.force_login(owner, "django.contrib.auth.backends.ModelBackend")
    return {
        address.name: client.get(
            reverse(address.name, args=[1] * len(address.arguments))
        ).status_code
        for address in own_addresses()
        if address.arguments in {(), ("pk",)} and address.name != "log_out"
    }


if __name__ == "__main__":
    main(sys.argv[1])
