"""Fills an empty data folder with the demo shop, and names who can sign in to look around."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.db import transaction

from inventory.shop.models import Site
from shopparts.models import User
from shopparts.workbook.load import load
from shopparts.workbook.registry import sheets

WORKBOOK = settings.BASE_DIR / "fixtures" / "demo_shop.xlsx"
LOG_INS = ("tova", "ines", "ruth")
PASSWORD = "salt-on-winter-roads"
FAULTS_TOLD = 20


class Command(BaseCommand):
    help = (
        "Fill an empty data folder with the demo shop. Safe to run again: it loads nothing twice."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--file", type=Path, default=WORKBOOK, help="another workbook")

    def handle(self, *args: Any, **options: Any) -> None:
        settings.DATA_DIR.mkdir(parents=True, exist_ok=True)
        call_command("migrate", interactive=False, verbosity=0)
        if _is_there():
            self.stdout.write("The demo shop is there already; nothing was loaded.")
        elif Site.objects.exists() or User.objects.exists():
            raise CommandError(
                f"The data folder {settings.DATA_DIR} holds another shop; "
                "set PLANNER_DATA to an empty folder for the demo."
            )
        else:
            self._load(options["file"])
        self._tell_log_ins()

    def _load(self, path: Path) -> None:
        # With the passwords in one transaction: a demo that is half there could not be completed.
        with transaction.atomic():
            report = load(path, sheets())
            if not report.written:
                faults = "\n".join(map(str, report.faults[:FAULTS_TOLD]))
                raise CommandError(f"The demo workbook {path} cannot be loaded:\n{faults}")
            for person in User.objects.filter(username__in=LOG_INS):
                person.set_password(PASSWORD)
                person.save(update_fields=["password"])
        records = sum(saved.added for saved in report.saved.values())
        self.stdout.write(f"Loaded the demo shop: {records} records on {len(report.saved)} sheets.")

    def _tell_log_ins(self) -> None:
        self.stdout.write("Sign in with the password " + PASSWORD + " as:")
        for person in User.objects.filter(username__in=LOG_INS).order_by("pk"):
            self.stdout.write(f"  {person.username}  {person}, {person.get_role_display().lower()}")


def _is_there() -> bool:
    return User.objects.filter(username__in=LOG_INS).count() == len(LOG_INS)
