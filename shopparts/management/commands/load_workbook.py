"""Loads a workbook, or one sheet as csv: all of it, or nothing and why."""

import json
from argparse import ArgumentParser
from dataclasses import asdict
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand

from shopparts.workbook.load import Report, load
from shopparts.workbook.marked import write_marked
from shopparts.workbook.registry import sheets

FAULTS_TOLD = 50


class Command(BaseCommand):
    help = "Load a workbook. Everything is checked first; nothing is written unless all is right."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path)
        parser.add_argument("--check", action="store_true", help="check only, write nothing")
        parser.add_argument("--sheet", default="", help="the sheet a csv file holds")
        parser.add_argument(
            "--right-rows", action="store_true", help="write the right rows, leave out the others"
        )
        parser.add_argument("--marked", type=Path, help="write a copy with the faults marked here")
        parser.add_argument("--json", action="store_true", help="answer as one JSON object")

    def handle(self, *args: Any, **options: Any) -> None:
        report = load(
            options["file"],
            sheets(),
            only_check=options["check"],
            right_rows=options["right_rows"],
            csv_sheet=options["sheet"],
        )
        if options["marked"] and any(fault.sheet for fault in report.faults):
            write_marked(
                options["file"], options["marked"], report.faults, csv_sheet=options["sheet"]
            )
        if options["json"]:
            self.stdout.write(json.dumps(as_json(report), ensure_ascii=False))
        else:
            self._tell(report)
        if report.fault_count and not report.written:
            raise SystemExit(1)

    def _tell(self, report: Report) -> None:
        for title, tally in report.tallies.items():
            saved = report.saved.get(title)
            did = (
                f"added {saved.added}, changed {saved.changed}, same {saved.same}"
                if saved
                else f"{tally.right} right"
            )
            self.stdout.write(f"{title}: {tally.rows} rows, {did}")
        for line in (*report.notes, *map(str, report.faults[:FAULTS_TOLD])):
            self.stderr.write(line)
        if (hidden := report.fault_count - FAULTS_TOLD) > 0:
            self.stderr.write(f"… and {hidden} more; --marked FILE shows them in their cells.")
        self.stdout.write(_ending(report))


def _ending(report: Report) -> str:
    if report.written:
        return "Loaded."
    if report.fault_count:
        return f"Nothing was written: {report.fault_count} to correct."
    return "All right. Nothing was written: this was a check."


def as_json(report: Report) -> dict[str, Any]:
    return {
        "written": report.written,
        "sheets": {
            title: asdict(tally) | (asdict(report.saved[title]) if title in report.saved else {})
            for title, tally in report.tallies.items()
        },
        "notes": list(report.notes),
        "fault_count": report.fault_count,
        "faults": [asdict(fault) | {"sentence": str(fault)} for fault in report.faults],
    }
