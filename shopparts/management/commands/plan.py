"""Plan now and print what to order: `manage.py plan [--as-of DATE] [--json] [--out FILE]`."""

import csv
import json
from argparse import ArgumentParser
from collections.abc import Callable
from datetime import date
from io import BytesIO, StringIO
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from openpyxl import Workbook

from inventory.reorder.job_waits import WholeJobs, whole_jobs
from inventory.reorder.models import PlanLine
from inventory.sheet.text import as_cell
from inventory.shop.amounts import money_text
from inventory.shop.models import ShopSettings, Site
from shopparts.runs.planning import plan_alone

COLUMNS = (
    "site",
    "part",
    "supplier",
    "packs",
    "pack",
    "pieces",
    "pack_price_cents",
    "on_hand",
    "on_order",
    "held",
    "owed",
    "asks_a_week",
    "pieces_an_ask",
    "lead_days",
    "reorder_point",
    "order_quantity",
    "target",
    "job_fill",
    "unit_fill",
    "ready_rate",
    "mean_on_hand",
    "whole_job_fill",
    "note",
)


class Command(BaseCommand):
    help = "Plans every part at every site and prints what to order, from whom and how many."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--as-of", metavar="YYYY-MM-DD", help="plan as if it were this day")
        parser.add_argument("--json", action="store_true", help="print JSON instead of words")
        parser.add_argument("--out", type=Path, help="write to this file: json, csv or xlsx")

    def handle(self, *args: Any, **options: Any) -> None:
        out: Path | None = options["out"]
        if out is not None and out.suffix.lower() not in WRITTEN:
            raise CommandError(f"--out {out.name} must end in .json, .csv or .xlsx.")
        site = Site.objects.selling().first()
        if site is None:
            raise CommandError("There is no site to plan for; add one first.")
        as_of = day_of(options["as_of"], today=site.today())
        run = plan_alone(as_of=as_of, by=None)
        lines = PlanLine.objects.for_order(run)
        jobs = {site: whole_jobs(run, site) for site in Site.objects.selling()}
        if out is not None:
            write(out, [told(line, jobs.get(line.site)) for line in lines])
            self.stdout.write(f"{run.words} Written to {out.name}.")
            return
        if options["json"]:
            rows = [told(line, jobs.get(line.site)) for line in lines]
            self.stdout.write(json.dumps(rows, indent=2))
            return
        self.stdout.write(run.words)
        for site, whole in jobs.items():
            if whole:
                self.stdout.write(f"{site.code}: {whole.sentence}")
        shop = ShopSettings.load()
        for line in lines:
            self.stdout.write(sentence(line, shop))


def day_of(text: str | None, *, today: date) -> date:
    """The day asked for, not in the future: what will be asked by then nobody knows."""
    if text is None:
        return today
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise CommandError(f"“{text}” is not a day; write it as 2026-03-09.") from None
    if day > today:
        raise CommandError(f"{day} is still to come; plan as of today, {today}, or a day before.")
    return day


def sentence(line: PlanLine, shop: ShopSettings) -> str:
    source = f"from {line.supplier}" if line.supplier else "from no supplier yet"
    cost = "" if line.cost_cents is None else f", {money_text(line.cost_cents, shop)}"
    return (
        f"{line.site.code}: {line.suggested_pieces} × {line.part} {source}{cost} "
        f"({line.position} left, reorder point {line.reorder_point})"
    )


def told(line: PlanLine, jobs: WholeJobs | None) -> dict[str, Any]:
    """A line, and the share of its site's jobs that find everything on the shelf."""
    return {
        "site": line.site.code,
        "part": line.part.number,
        "supplier": line.supplier.code if line.supplier else None,
        "packs": line.suggested_packs,
        "pack": line.pack,
        "pieces": line.suggested_pieces,
        "pack_price_cents": line.pack_price_cents,
        "on_hand": line.on_hand,
        "on_order": line.on_order,
        "held": line.held,
        "owed": line.owed,
        "asks_a_week": line.asks,
        "pieces_an_ask": line.size_mean,
        "lead_days": line.lead_days,
        "reorder_point": line.reorder_point,
        "order_quantity": line.order_quantity,
        "target": line.target,
        "job_fill": line.job_fill,
        "unit_fill": line.unit_fill,
        "ready_rate": line.ready_rate,
        "mean_on_hand": line.mean_on_hand,
        "whole_job_fill": jobs.share if jobs else None,
        "note": line.words,
    }


def as_json(rows: list[dict[str, Any]]) -> bytes:
    return json.dumps(rows, indent=2, ensure_ascii=False).encode() + b"\n"


def as_csv(rows: list[dict[str, Any]]) -> bytes:
    out = StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(COLUMNS)
    writer.writerows(row.values() for row in cells(rows))
    return out.getvalue().encode("utf-8-sig")


def as_workbook(rows: list[dict[str, Any]]) -> bytes:
    book, out = Workbook(write_only=True), BytesIO()
    sheet = book.create_sheet("To order")
    sheet.append(COLUMNS)
    for row in cells(rows):
        sheet.append(list(row.values()))
    book.save(out)
    return out.getvalue()


def cells(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """With text that a spreadsheet would run neutralised."""
    return [
        {name: as_cell(value) if isinstance(value, str) else value for name, value in row.items()}
        for row in rows
    ]


WRITTEN: dict[str, Callable[[list[dict[str, Any]]], bytes]] = {
    ".json": as_json,
    ".csv": as_csv,
    ".xlsx": as_workbook,
}


def write(path: Path, rows: list[dict[str, Any]]) -> None:
    """Whole or not at all: written beside its place first, then moved there."""
    beside = path.with_name(f".{path.name}.part")
    try:
        beside.write_bytes(WRITTEN[path.suffix.lower()](rows))
        beside.replace(path)
    except OSError as fault:
        beside.unlink(missing_ok=True)
        raise CommandError(
            f"{path} cannot be written ({fault.strerror}); choose another place."
        ) from fault
