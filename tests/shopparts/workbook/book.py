"""Workbooks as a shop might bring them: plain rows, headings first."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import openpyxl

Rows = Sequence[Sequence[Any]]

PARTS_HEAD = ["Number", "Kind", "Bands"]
APPLICATIONS_HEAD = ["Key", "Make", "Model", "First year", "Last year"]
FITMENTS_HEAD = ["Application", "Part", "Axle"]


def write_book(path: Path, **sheets: Rows) -> Path:
    """A workbook with these sheets; an underscore in a name stands for a space."""
    book = openpyxl.Workbook()
    book.remove(book.worksheets[0])
    for title, rows in sheets.items():
        page = book.create_sheet(title.replace("_", " "))
        for row in rows:
            page.append(list(row))
    book.save(path)
    return path


def small_catalogue() -> dict[str, Rows]:
    """One application, one part, and that the part fits it."""
    return {
        "Applications": [APPLICATIONS_HEAD, ["MEROW-LISTA", "Merow", "Lista", 2013, 2016]],
        "Parts": [PARTS_HEAD, ["EX-100", "Sensor assembly", "433 MHz"]],
        "Fitments": [FITMENTS_HEAD, ["MEROW-LISTA", "EX-100", "All wheels"]],
    }
