"""Backs the shop up now, and says where the backup lies."""

import json
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from shopparts.backup import BackupError, backups, make_backup


class Command(BaseCommand):
    help = "Write the whole database into one file, check it, and let the oldest backups go."
    # What is wrong with the program must not keep anybody from backing up.
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--json", action="store_true", help="answer as one JSON object")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            made = make_backup()
        except BackupError as refused:
            raise CommandError(str(refused)) from None
        count = len(backups())
        if options["json"]:
            told = {"file": str(made.path), "bytes": made.size, "kept": count}
            self.stdout.write(json.dumps(told))
        else:
            self.stdout.write(f"Backed up as {made.path} ({made.size:,} bytes); {count} kept.")
