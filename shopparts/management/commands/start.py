"""Everything the shop needs to run: the database up to date, the site served, a worker beside."""

import signal
import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

import waitress
from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.core.wsgi import get_wsgi_application
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

from shopparts.backup import BackupError, make_backup
from shopparts.first_run import first_owner_path
from shopparts.supervisor import Supervisor
from shopparts.workbook.guard import FILE_BYTES


def backup_before_migrating() -> Path | None:
    """Where the shop was backed up; None when there is nothing to migrate, or no shop yet.

    Raises
    ------
    CommandError
        If no good backup could be made: then nothing is migrated.
    """
    executor = MigrationExecutor(connection)
    waiting = executor.migration_plan(executor.loader.graph.leaf_nodes())
    if not waiting or not executor.loader.applied_migrations:
        return None
    try:
        return make_backup().path
    except BackupError as refused:
        raise CommandError(f"{refused} Nothing was migrated.") from None


def serving(options: dict[str, Any]) -> dict[str, Any]:
    """What the web server is told. Nobody but the proxy named is believed about other addresses."""
    told = {name: options[name] for name in ("host", "port", "threads")}
    told |= {"max_request_body_size": FILE_BYTES + 1_000_000, "ident": None}
    if options["proxy"]:
        told["trusted_proxy"] = options["proxy"]
        told["trusted_proxy_headers"] = {"x-forwarded-for", "x-forwarded-proto"}
    return told


class Command(BaseCommand):
    help = "Bring the database up to date, serve the site and keep a worker for long work."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--host", default="127.0.0.1", help="address to listen on")
        parser.add_argument("--port", type=int, default=8000, help="port to listen on")
        parser.add_argument("--threads", type=int, default=8, help="requests served at a time")
        parser.add_argument(
            "--proxy",
            metavar="ADDRESS",
            help="the reverse proxy in front, whose word on HTTPS and on who asks is believed",
        )
        parser.add_argument(
            "--workers", type=int, default=1, help="processes for long work; 0 leaves it to others"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        settings.DATA_DIR.mkdir(parents=True, exist_ok=True)
        if backed_up := backup_before_migrating():
            self.stdout.write(
                f"Backed up as {backed_up} before the database is brought up to date."
            )
        call_command("migrate", interactive=False, verbosity=0)
        call_command("collectstatic", interactive=False, verbosity=0)
        site = f"http://{options['host']}:{options['port']}"
        self.stdout.write(f"The shop's data is in {settings.DATA_DIR}.")
        if path := first_owner_path():
            self.stdout.write(f"Nobody can sign in yet. Make the owner's account at {site}{path}")
        self.stdout.write(f"Serving at {site} (stop with Ctrl+C).")
        self.stdout.flush()
        # Made only now: it looks for the collected static files once, when it is made.
        application = get_wsgi_application()
        # So that the workers end with the server, however it is told to end.
        signal.signal(signal.SIGTERM, lambda number, frame: sys.exit(0))
        with Supervisor(options["workers"]):
            waitress.serve(application, **serving(options))
