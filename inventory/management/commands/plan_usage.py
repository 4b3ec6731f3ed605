"""Reorder points from a plain table of usage, without a database."""

import csv
import json
import os
import sys
import tempfile
from collections.abc import Callable, Iterable
from dataclasses import asdict
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from openpyxl import Workbook
from openpyxl.cell import WriteOnlyCell

from inventory.reorder.usage_plan import (
    LINE_FIELDS,
    UsageLine,
    UsageOptions,
    UsagePlanError,
    usage_lines,
)
from inventory.reorder.usage_table import UsageTable, UsageTableError, read_usage_table

LONG_TABLE = 2000
BAR_WIDTH = 30
HEADS = (
    ("part", "part"),
    ("target", "target"),
    ("rate_per_period", "used a {period}"),
    ("reorder_point", "order at"),
    ("order_quantity", "order"),
    ("job_fill", "jobs served"),
    ("unit_fill", "pieces served"),
    ("ready_rate", "time in stock"),
    ("mean_on_hand", "on the shelf"),
    ("note", "note"),
)
SHARES = {"target", "job_fill", "unit_fill", "ready_rate"}
AMOUNTS = {"rate_per_period", "mean_on_hand"}


class Command(BaseCommand):
    help = (
        "Reorder points from a plain table of usage (csv or xlsx): the first column is the part, "
        "every further one a period, oldest first, blank where nothing is known. A week is 7 days, "
        "a month 30."
    )
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", nargs="?", help="csv or xlsx file")
        parser.add_argument("--sheet", help="sheet of a workbook; the first when absent")
        parser.add_argument("--period", default="month", help="day, week or month (month)")
        parser.add_argument("--lead-days", default="7", help="days from order to shelf (7)")
        parser.add_argument("--review-days", default="7", help="days between two orders (7)")
        parser.add_argument("--target", default="0.95", help="share served, or several: 0.9,0.95")
        parser.add_argument("--measure", default="job_fill", help="unit_fill or job_fill")
        parser.add_argument("--order-cost", default="0", help="money an order (0: order singly)")
        parser.add_argument("--unit-cost", help="money a piece")
        parser.add_argument("--holding-rate", help="share of the unit cost a year, such as 0.25")
        parser.add_argument("--json", action="store_true", help="print a list of objects")
        parser.add_argument("--out", help="write to this file: json, csv, xlsx or txt")

    def handle(self, *args: Any, **given: Any) -> None:
        try:
            options = options_from(given)
            options.check()
            table = read_usage_table(named_file(given["file"]), sheet=given["sheet"])
        except (UsageTableError, UsagePlanError) as fault:
            raise CommandError(str(fault)) from fault
        lines = list(usage_lines(table, options, tell=self.progress(table)))
        if given["out"]:
            write_file(Path(given["out"]), lines, options, as_json=given["json"])
        elif given["json"]:
            self.stdout.write(as_json(lines))
        else:
            self.stdout.write(as_text(lines, options))

    def progress(self, table: UsageTable) -> Callable[[int], None]:
        """A bar on the error stream for long tables, so that the answer stays clean."""
        whole = len(table.parts)

        def tell(done: int) -> None:
            filled = BAR_WIDTH * done // whole
            bar = "#" * filled + "-" * (BAR_WIDTH - filled)
            end = "\n" if done == whole else ""
            self.stderr.write(f"\r[{bar}] {done} of {whole} parts", ending=end)

        return tell if whole >= LONG_TABLE and sys.stderr.isatty() else lambda done: None


def named_file(file: str | None) -> Path:
    if not file:
        raise UsageTableError("Name the file to plan from: plan_usage FILE.")
    return Path(file)


def options_from(given: dict[str, Any]) -> UsageOptions:
    amounts = {
        option: number(given[option], option)
        for option in ("lead_days", "review_days", "order_cost", "unit_cost", "holding_rate")
        if given[option] is not None
    }
    targets = str(given["target"]).split(",")
    return UsageOptions(
        period=given["period"],
        measure=given["measure"],
        targets=tuple(number(target, "target") for target in targets),
        **amounts,
    )


def number(written: str, option: str) -> float:
    try:
        return float(written)
    except (TypeError, ValueError):
        name = option.replace("_", "-")
        raise UsagePlanError(f"--{name} must be a number; got {written!r}.") from None


def as_json(lines: Iterable[UsageLine]) -> str:
    return json.dumps([asdict(line) for line in lines], indent=1, allow_nan=False)


def as_text(lines: list[UsageLine], options: UsageOptions) -> str:
    """Columns a person can read: names to the left, figures to the right."""
    heads = [head.format(period=options.period) for _, head in HEADS]
    rows = [[shown(getattr(line, name), name) for name, _ in HEADS] for line in lines]
    widths = [max(map(len, column)) for column in zip(heads, *rows, strict=True)]
    left = {0, len(HEADS) - 1}

    def laid_out(cells: list[str]) -> str:
        return "  ".join(
            cell.ljust(width) if place in left else cell.rjust(width)
            for place, (cell, width) in enumerate(zip(cells, widths, strict=True))
        ).rstrip()

    return "\n".join(laid_out(row) for row in [heads, *rows])


def shown(figure: Any, name: str) -> str:
    if name in SHARES:
        return f"{figure:.1%}"
    return f"{figure:.2f}" if name in AMOUNTS else str(figure)


def write_file(path: Path, lines: list[UsageLine], options: UsageOptions, *, as_json: bool) -> None:
    """Whole or not at all: written beside its place first, then moved there."""
    kind = ".json" if as_json else path.suffix.lower()
    if kind not in WRITERS:
        raise CommandError(f"--out {path.name} must end in .json, .csv, .xlsx or .txt.")
    try:
        handle, beside = tempfile.mkstemp(dir=path.parent, suffix=kind)
        os.close(handle)
        try:
            WRITERS[kind](Path(beside), lines, options)
            Path(beside).replace(path)
        except OSError:
            Path(beside).unlink(missing_ok=True)
            raise
    except OSError as fault:
        raise CommandError(
            f"{path} cannot be written ({fault.strerror}); choose another place."
        ) from fault


def write_json(path: Path, lines: list[UsageLine], options: UsageOptions) -> None:
    path.write_text(as_json(lines) + "\n", encoding="utf-8")


def write_text(path: Path, lines: list[UsageLine], options: UsageOptions) -> None:
    path.write_text(as_text(lines, options) + "\n", encoding="utf-8")


def write_csv(path: Path, lines: list[UsageLine], options: UsageOptions) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(LINE_FIELDS)
        writer.writerows([safe(getattr(line, name)) for name in LINE_FIELDS] for line in lines)


def write_workbook(path: Path, lines: list[UsageLine], options: UsageOptions) -> None:
    book = Workbook(write_only=True)
    sheet = book.create_sheet("Reorder points")
    sheet.append(LINE_FIELDS)
    for line in lines:
        cells = [WriteOnlyCell(sheet, value=getattr(line, name)) for name in LINE_FIELDS]
        cells[0].data_type = "s"
        sheet.append(cells)
    book.save(path)


def safe(value: object) -> object:
    """A part whose name begins like a formula must not become one in a spreadsheet."""
    if isinstance(value, str) and value.startswith(("=", "+", "-", "@", "\t", "\r")):
        return f"'{value}"
    return value


WRITERS = {".json": write_json, ".txt": write_text, ".csv": write_csv, ".xlsx": write_workbook}
