"""Workbooks written: everything the shop has, one sheet alone, or an empty template.

Each sheet begins with what it is for, what goes into each column and one example; the headings
come below, so that the loader, which looks for the headings, never takes the example for a record.
"""

import csv
from collections.abc import Callable, Mapping, Sequence
from itertools import zip_longest
from pathlib import Path
from typing import Any

from openpyxl import Workbook
from openpyxl.cell import Cell, WriteOnlyCell
from openpyxl.styles import Alignment, Font, PatternFill
from openpyxl.utils import get_column_letter
from openpyxl.worksheet._write_only import WriteOnlyWorksheet
from openpyxl.worksheet.datavalidation import DataValidation

from inventory.sheet import Column, Kind, Row, Sheet
from inventory.sheet.text import as_cell
from shopparts.workbook.check import CHOICES_TITLE
from shopparts.workbook.shown import Write, cell_writer, column_note, heading

HEADING_ROW = 4
_LAST_ROW = 1_048_576
_NOTE = Font(italic=True, color="55636D")
_HEADING = Font(bold=True)
_HEADING_FILL = PatternFill("solid", fgColor="E9E4DA")
_WRAPPED = Alignment(wrap_text=True, vertical="top")
_WIDTHS = {Kind.TEXT: 22, Kind.CHOICE: 18, Kind.CHOICES: 18, Kind.INSTANT: 34}


def write_workbook(
    path: Path,
    sheets: Mapping[str, Sheet],
    *,
    minor_digits: int,
    template: bool = False,
    told: Callable[[str], None] = lambda title: None,
) -> dict[str, int]:
    """Write every sheet, with all records or as an empty template; the number of rows by title.

    `told` is called with the title of each sheet before it is written.
    """
    book = Workbook(write_only=True)
    drop_downs = DropDowns(sheets)
    counts = {}
    for sheet in sheets.values():
        told(sheet.title)
        page = book.create_sheet(sheet.title)
        _head(page, sheet, drop_downs)
        counts[sheet.title] = 0 if template else _fill(page, sheet, minor_digits)
    drop_downs.write(book.create_sheet(CHOICES_TITLE))
    book.save(path)
    return counts


def write_csv(path: Path, sheet: Sheet, *, minor_digits: int) -> int:
    """Write one sheet as csv, headings in the first row; the number of rows."""
    writers = [cell_writer(column, minor_digits) for column in sheet.columns]
    count = 0
    with path.open("w", encoding="utf-8-sig", newline="") as file:
        out = csv.writer(file)
        out.writerow([heading(column) for column in sheet.columns])
        for count, row in enumerate(sheet.rows(), start=1):  # noqa: B007  counted after the loop
            out.writerow(_cells(sheet, writers, row))
    return count


def _fill(page: WriteOnlyWorksheet, sheet: Sheet, minor_digits: int) -> int:
    writers = [cell_writer(column, minor_digits) for column in sheet.columns]
    count = 0
    for count, row in enumerate(sheet.rows(), start=1):  # noqa: B007  counted after the loop
        page.append(_cells(sheet, writers, row))
    return count


def _cells(sheet: Sheet, writers: Sequence[Write], row: Row) -> list[Any]:
    values = (row[column.field] for column in sheet.columns)
    return [
        None if value is None else write(value)
        for write, value in zip(writers, values, strict=True)
    ]


def _head(page: Any, sheet: Sheet, drop_downs: "DropDowns") -> None:
    page.freeze_panes = f"A{HEADING_ROW + 1}"
    for place, column in enumerate(sheet.columns, start=1):
        letter = get_column_letter(place)
        dimension = page.column_dimensions[letter]
        dimension.width = _WIDTHS.get(column.kind or Kind.TEXT, 14)
        if column.kind is Kind.TEXT:
            # As text, so that a number typed with leading zeros keeps them.
            dimension.number_format = "@"
        if listed := drop_downs.listed(column):
            rule = DataValidation(type="list", formula1=listed, allow_blank=True)
            # It offers words and blocks none: the loader reads more than these.
            rule.showErrorMessage = False
            rule.add(f"{letter}{HEADING_ROW + 1}:{letter}{_LAST_ROW}")
            page.data_validations.append(rule)
    page.append([_styled(page, f"{sheet.title}. {sheet.note}", font=_NOTE)])
    notes = [column_note(column) for column in sheet.columns]
    page.append([_styled(page, note, font=_NOTE, alignment=_WRAPPED) for note in notes])
    examples = [f"{c.example}" if c.example is not None else "" for c in sheet.columns]
    examples[0] = f"Example: {examples[0]}"
    page.append([_styled(page, as_cell(example), font=_NOTE) for example in examples])
    heads = [heading(column) for column in sheet.columns]
    page.append([_styled(page, head, font=_HEADING, fill=_HEADING_FILL) for head in heads])


def _styled(page: Any, text: str, **style: Any) -> Cell:
    cell: Cell = WriteOnlyCell(page, value=text)
    for name, value in style.items():
        setattr(cell, name, value)
    return cell


class DropDowns:
    """The words a column offers, each list once, on a sheet of their own."""

    def __init__(self, sheets: Mapping[str, Sheet]) -> None:
        self._sheets = sheets
        self._lists: dict[tuple[str, ...], str] = {}

    def listed(self, column: Column) -> str:
        """Where the words for this column stand; "" when it offers none."""
        if column.to:
            return self._keys(self._sheets[column.to])
        if column.kind is Kind.YES_NO:
            return self._words(("yes", "no"))
        if column.kind is Kind.CHOICE:
            return self._words(tuple(label for _, label in column.choices))
        return ""

    def _words(self, words: tuple[str, ...]) -> str:
        letter = self._lists.setdefault(words, get_column_letter(len(self._lists) + 1))
        return f"={CHOICES_TITLE}!${letter}$1:${letter}${len(words)}"

    @staticmethod
    def _keys(sheet: Sheet) -> str:
        if len(sheet.key) != 1:
            return ""
        place = [column.field for column in sheet.columns].index(sheet.key[0])
        letter = get_column_letter(place + 1)
        return f"='{sheet.title}'!${letter}${HEADING_ROW + 1}:${letter}${_LAST_ROW}"

    def write(self, page: WriteOnlyWorksheet) -> None:
        for words in zip_longest(*self._lists):
            page.append([None if word is None else as_cell(word) for word in words])
