"""Puts a backup into an empty place and proves its stock there."""

import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from inventory.ledger.models import Movement
from shopparts.backup import BackupError
from shopparts.restore import restore


class Command(BaseCommand):
    help = "Restore a backup into an empty data folder or database, and prove its stock."
    # There are no tables to check before; the audit at the end proves the triggers.
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path)

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            faults = restore(options["file"])
        except BackupError as refused:
            raise CommandError(str(refused)) from None
        if faults:
            self.stdout.write("\n".join(map(str, faults)))
            self.stdout.write("Restored, but the stock does not agree with its movements.")
            sys.exit(1)
        count = Movement.objects.count()
        self.stdout.write(f"Restored; the stock agrees with all {count} movements.")
