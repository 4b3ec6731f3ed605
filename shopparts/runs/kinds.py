"""What the work of each kind of run is. Each ends its run in the transaction that it writes in."""

import os
import socket
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import transaction

from inventory.shop.models import Site
from shopparts.backup import make_backup
from shopparts.runs import actions
from shopparts.runs.models import Run, RunKind, RunStatus
from shopparts.runs.planning import plan_alone
from shopparts.workbook.faults import UnreadableError
from shopparts.workbook.load import Report, load, units_of_the_shop
from shopparts.workbook.marked import write_marked
from shopparts.workbook.registry import sheets, sheets_for
from shopparts.workbook.told import ending, told
from shopparts.workbook.writer import write_workbook

MARKED = "marked.xlsx"
WHOLE_SHOP = "shop.xlsx"


def worker_name() -> str:
    return f"{socket.gethostname()[:40]} {os.getpid()}"


@dataclass(frozen=True, slots=True)
class Hand:
    """What the work has in hand: its run, and the ways to say how far it is and to end it."""

    run: Run
    worker: str
    tell: Callable[[str], None]

    def finish(
        self,
        words: str,
        results: dict[str, Any] | None = None,
        status: RunStatus = RunStatus.DONE,
    ) -> None:
        actions.finish(self.run, worker=self.worker, words=words, told=results, status=status)


def check_file(hand: Hand) -> None:
    """Check an upload: what loading it would do, and a marked copy where it has faults."""
    report = _loaded(hand, only_check=True)
    results = told(report, sheets())
    hand.run.folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    if any(fault.sheet for fault in report.faults):
        hand.tell("Marking the faults")
        try:
            write_marked(_upload(hand.run), hand.run.folder / MARKED, report.faults)
        except UnreadableError:
            # Part of the file could be read, and part could not: the list of faults says so.
            pass
        else:
            results["file"] = MARKED
    hand.finish(ending(report), results)


def load_file(hand: Hand) -> None:
    """Load an upload that was checked, as a whole or its right rows."""

    def written(report: Report) -> None:
        hand.finish(ending(report), told(report, sheets()))

    report = _loaded(hand, right_rows=bool(hand.run.given.get("right_rows")), written=written)
    if not report.written:
        hand.finish(ending(report), told(report, sheets()), status=RunStatus.FAILED)


def _loaded(hand: Hand, **options: Any) -> Report:
    def tell(title: str, rows: int) -> None:
        hand.tell(f"{title}: {rows:,} rows read")

    by = hand.run.by
    return load(_upload(hand.run), sheets_for(by), by=by, told=tell, **options)


def _upload(run: Run) -> Path:
    """A load works on the file that its check has looked at."""
    return Path(settings.FILES_DIR, run.given["folder"], run.given["file"])


def save_shop(hand: Hand) -> None:
    """Everything the shop has in one workbook."""
    hand.run.folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    digits = units_of_the_shop().minor_digits
    counts = write_workbook(
        hand.run.folder / WHOLE_SHOP,
        sheets(),
        minor_digits=digits,
        told=lambda title: hand.tell(f"Writing {title}"),
    )
    words = f"{sum(counts.values()):,} rows on {len(counts)} sheets."
    hand.finish(words, {"file": WHOLE_SHOP, "counts": counts})


def plan_shop(hand: Hand) -> None:
    """Plan all parts at all sites, in one transaction with the end of the run."""
    site = Site.objects.selling().first()
    if site is None:
        hand.finish("There is no site to plan for; add one first.", status=RunStatus.FAILED)
        return
    hand.tell("Planning")
    with transaction.atomic():
        hand.finish(plan_alone(as_of=site.today(), by=hand.run.by).words)


def back_up(hand: Hand) -> None:
    hand.tell("Backing up")
    made = make_backup()
    hand.finish(f"Backed up as {made.path.name}, {made.size:,} bytes, and read back whole.")


WORK: dict[str, Callable[[Hand], None]] = {
    RunKind.CHECK: check_file,
    RunKind.LOAD: load_file,
    RunKind.SAVE: save_shop,
    RunKind.PLAN: plan_shop,
    RunKind.BACKUP: back_up,
}
