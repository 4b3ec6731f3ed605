"""Fills an empty data folder with the demo shop, and names who can sign in to look around."""

from argparse import ArgumentParser
from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.db import transaction
from django.utils import timezone

from inventory.sheet import Kind, Row, Saved, Sheet
from inventory.shop.models import Site
from shopparts.models import User
from shopparts.runs.planning import plan_alone
from shopparts.workbook.load import load
from shopparts.workbook.registry import sheets

WORKBOOK = settings.BASE_DIR / "fixtures" / "demo_shop.xlsx"
LOG_INS = ("tova", "ines", "ruth")
PASSWORD = "salt-on-winter-roads"
FAULTS_TOLD = 20
LAST_DAY = date(2026, 11, 24)
"""The day on which the workbook's history ends."""
STAYS = frozenset({"Applications", "Supersessions", "Selling prices", "Offers", "Price breaks"})
"""Facts and price lists keep their dates: other rows are found by them."""


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
            report = load(path, moved(sheets(), days=weeks_since(LAST_DAY, _today()) * 7))
            if not report.written:
                faults = "\n".join(map(str, report.faults[:FAULTS_TOLD]))
                raise CommandError(f"The demo workbook {path} cannot be loaded:\n{faults}")
            for person in User.objects.filter(username__in=LOG_INS):
                person.set_password(PASSWORD)
                person.save(update_fields=["password"])
        # So that the list of what to order is not empty at the first look.
        plan_alone(as_of=_today(), by=None)
        records = sum(saved.added for saved in report.saved.values())
        self.stdout.write(f"Loaded the demo shop: {records} records on {len(report.saved)} sheets.")

    def _tell_log_ins(self) -> None:
        self.stdout.write("Sign in with the password " + PASSWORD + " as:")
        for person in User.objects.filter(username__in=LOG_INS).order_by("pk"):
            self.stdout.write(f"  {person.username}  {person}, {person.get_role_display().lower()}")


def weeks_since(last: date, today: date) -> int:
    """Whole weeks, so that no job comes to lie on a Sunday; negative where the clock is behind."""
    return (today - last).days // 7


def moved(known: Mapping[str, Sheet], *, days: int) -> dict[str, Sheet]:
    """The sheets, saving every day and instant of the history so many days later.

    A history that ended months ago shows empty pages: nothing is due and nobody waits.
    """
    return {
        title: sheet if title in STAYS else _moved(sheet, timedelta(days=days))
        for title, sheet in known.items()
    }


def _moved(sheet: Sheet, by_time: timedelta) -> Sheet:
    fields = [c.field for c in sheet.columns if c.kind in {Kind.DATE, Kind.INSTANT} and not c.to]

    def later(row: Row) -> Row:
        return row | {field: row[field] + by_time for field in fields if row.get(field)}

    def save(rows: Iterable[Row], *, by: Any) -> Saved:
        return sheet.save(map(later, rows), by=by)

    return replace(sheet, save=save)


def _today() -> date:
    return timezone.now().date()


def _is_there() -> bool:
    return User.objects.filter(username__in=LOG_INS).count() == len(LOG_INS)
