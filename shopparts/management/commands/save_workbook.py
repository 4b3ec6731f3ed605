"""Writes everything the shop has into one workbook, or an empty template of it."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from shopparts.workbook.load import units_of_the_shop
from shopparts.workbook.registry import sheets
from shopparts.workbook.writer import write_csv, write_workbook


class Command(BaseCommand):
    help = "Save everything in one workbook that loads into an empty shop as the same shop."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path)
        parser.add_argument("--template", action="store_true", help="headings and notes only")
        parser.add_argument("--sheet", default="", help="this sheet alone, as csv")

    def handle(self, *args: Any, **options: Any) -> None:
        folder = options["file"].parent
        if not folder.is_dir():
            raise CommandError(f"There is no folder “{folder}”; make it, or choose another place.")
        digits = units_of_the_shop().minor_digits
        try:
            if title := options["sheet"]:
                counts = {title: write_csv(options["file"], _named(title), minor_digits=digits)}
            else:
                counts = write_workbook(
                    options["file"], sheets(), minor_digits=digits, template=options["template"]
                )
        except OSError as broken:
            raise CommandError(
                f"“{options['file']}” cannot be written ({broken.strerror}); choose another place."
            ) from None
        for title, count in counts.items():
            self.stdout.write(f"{title}: {count} rows")
        self.stdout.write(f"Saved as {options['file']}.")


def _named(title: str) -> Any:
    try:
        return sheets()[title]
    except KeyError:
        known = ", ".join(sheets())
        raise CommandError(f"No sheet is called “{title}”; choose one of: {known}.") from None
