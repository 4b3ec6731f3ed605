"""A workbook as a shop really keeps it: a title above merged heads, units in the cells, dates as
text, amounts with their sign, parts written twice, empty columns and a total at the end.
"""

from pathlib import Path
from typing import Any

import openpyxl

PARTS: list[list[Any]] = [
    ["Saltmarsh Wheel and Tire: parts list"],
    [],
    ["What it is", None, None, None, "Valve", None, None, "Money"],
    [
        "Part number",
        "Kind",
        "Bands",
        None,
        "Rated pressure",
        "Valve nut torque",
        None,
        "List price",
    ],
    ["  EX-100 ", "sensor BODY", "433", None, "65 psi", "8 N·m", None, "$42.50"],
    [2001, "Service kit", None, None, None, "35 lbf-in", None, "4"],
    ["EX-200", "Stem", None, None, "4.5 bar", None, None, " 1,212.00 USD "],
    ["EX-300", "Body", "315 MHz", None, None, None, "on order", 12.1],
    ["TOTAL", None, None, None, None, None, None, 1270.6],
]
MERGED = ("A1:H1", "A3:D3", "E3:G3", "C4:D4")
OFFERS: list[list[Any]] = [
    ["Supplier", "Part", "Pack", "Pack price", "Valid from", "Warranty months", "Returnable days"],
    ["CVS", "EX-100", "1 pc", "$21.37", "3/9/2026", "24 months", "30 days"],
    ["CVS ", "2001", "10 pcs", "8.50 USD", "9 Mar 2026", "2 years", None],
    ["CVS", "ex 200", "4", 6, "2026-03-09", "12", "0"],
]
SUPPLIERS: list[list[Any]] = [
    ["Code", "Name", "Lead days stated"],
    ["CVS", "Corrow Valve Supply", "2 days"],
]


def write_messy(path: Path, **instead: list[list[Any]]) -> Path:
    """The sheets, or others `instead`; the merged heads are those of the parts."""
    book = openpyxl.Workbook()
    book.remove(book.worksheets[0])
    sheets = {"Parts": PARTS, "Suppliers": SUPPLIERS, "Offers": OFFERS} | instead
    for title, rows in sheets.items():
        page = book.create_sheet(title.replace("_", " "))
        for row in rows:
            page.append(row)
        if title == "Parts":
            for cells in MERGED:
                page.merge_cells(cells)
    book.save(path)
    return path
