"""A workbook of 100,000 rows read, checked and written, against bare iteration of its cells."""

import random
import tempfile
import zipfile
from collections.abc import Iterator
from pathlib import Path

import openpyxl

from tests.bench.row import Row, peak_mb, seconds

ROWS = 100_000
APPLICATIONS, PARTS = 2_000, 8_000


def write_large_workbook(path: Path, *, rows: int = ROWS) -> None:
    """Applications, parts and fitments in the proportions of a catalogue; seeded."""
    rng = random.Random(20260309)
    book = openpyxl.Workbook(write_only=True)
    page = book.create_sheet("Applications")
    page.append(["Key", "Make", "Model", "First year", "Last year", "Band", "Placard front"])
    for number in range(APPLICATIONS):
        page.append([f"APP-{number}", "Merow", f"Lista {number}", 2010, 2016, "433.92", "33 psi"])
    page = book.create_sheet("Parts")
    page.append(["Number", "Kind", "Bands", "Description", "List price"])
    for number in range(PARTS):
        page.append([f"PN-{number}", "Sensor body", "433 MHz", "made for a test", 49.9])
    page = book.create_sheet("Fitments")
    page.append(
        ["Application", "Part", "Axle", "Preference", "Quantity per wheel", "Programmed as"]
    )
    pairs = rng.sample(range(APPLICATIONS * PARTS), rows - APPLICATIONS - PARTS)
    for pair in pairs:
        application, part = divmod(pair, PARTS)
        page.append([f"APP-{application}", f"PN-{part}", "All wheels", 1, 1, None])
    book.save(path)
    _state_sizes(path)


def _state_sizes(path: Path) -> None:
    """Say in each sheet how large it is, as spreadsheet programs do.

    openpyxl reads a sheet that does not say so twice, which would flatter us.
    """
    with zipfile.ZipFile(path) as file:
        parts = {name: file.read(name) for name in file.namelist()}
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as file:
        for name, data in parts.items():
            size = b'<dimension ref="A1:G%d"/><sheetViews>' % data.count(b"<row")
            file.writestr(name, data.replace(b"<sheetViews>", size, 1))


def iterate(path: Path) -> int:
    book = openpyxl.load_workbook(path, read_only=True, data_only=True)
    count = sum(1 for page in book.worksheets for _ in page.iter_rows(values_only=True))
    book.close()
    return count


def measure() -> Row:
    from shopparts.workbook.load import load
    from shopparts.workbook.registry import sheets

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "large.xlsx"
        write_large_workbook(path)
        before = peak_mb()
        bare = seconds(lambda: iterate(path), repeat=1)

        def load_all() -> None:
            report = load(path, sheets())
            if not report.written:
                raise AssertionError(f"{report.fault_count} faults, first: {report.faults[0]}")

        ours = seconds(load_all, repeat=1)
        peak = peak_mb()
        again = seconds(load_all, repeat=1)
    return Row(
        work=f"a workbook of {ROWS:,} rows read, checked and written",
        against="openpyxl read-only iteration of it",
        ratio=bare / ours,
        goal=0.5,
        at_least=True,
        words=f"bare {bare:.1f} s, loaded {ours:.1f} s, loaded again unchanged {again:.1f} s, "
        f"peak {peak:.0f} MB ({before:.0f} MB before)",
    )


def rows() -> Iterator[Row]:
    yield measure()
