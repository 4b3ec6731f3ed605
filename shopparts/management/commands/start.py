"""Everything the shop needs to run: the database brought up to date, then the site served."""

from argparse import ArgumentParser
from typing import Any

import waitress
from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand
from django.core.wsgi import get_wsgi_application

from shopparts.first_run import first_owner_path


class Command(BaseCommand):
    help = "Bring the database up to date and serve the site."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--host", default="127.0.0.1", help="address to listen on")
        parser.add_argument("--port", type=int, default=8000, help="port to listen on")
        parser.add_argument("--threads", type=int, default=8, help="requests served at a time")

    def handle(self, *args: Any, **options: Any) -> None:
        settings.DATA_DIR.mkdir(parents=True, exist_ok=True)
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
        waitress.serve(
            application, host=options["host"], port=options["port"], threads=options["threads"]
        )
