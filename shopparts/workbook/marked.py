"""A copy of a workbook with its faults marked: the cell filled, a comment saying what was expected.

Written row by row from what was read, so that a large file takes little memory; values are copied,
not the look of the file. Corrected, it loads like the first one.
"""

import re
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from openpyxl import Workbook
from openpyxl.cell import WriteOnlyCell
from openpyxl.comments import Comment
from openpyxl.styles import PatternFill

from inventory.sheet.text import as_copy
from shopparts.workbook.check import FAULTS_TITLE
from shopparts.workbook.faults import Fault
from shopparts.workbook.rows import Cells, Uncomputed
from shopparts.workbook.source import Source, opened

_FILL = PatternFill("solid", fgColor="F6C6C0")
_WIDTH, _HEIGHT = 320, 120
_NOT_IN_TITLES = re.compile(r"[\[\]:*?/\\]")

Marks = Mapping[int, Sequence[Fault]]


def write_marked(path: Path, copy: Path, faults: Sequence[Fault], *, csv_sheet: str = "") -> None:
    """Copy a checked file with these faults marked, and listed on a sheet of their own.

    Raises
    ------
    UnreadableError
        If the file cannot be read; there is nothing to mark then.
    """
    book = Workbook(write_only=True)
    _list(book.create_sheet(FAULTS_TITLE), faults)
    with opened(path, sheet=csv_sheet) as source:
        for title in source.titles:
            if title != FAULTS_TITLE:
                marks = _by_row(fault for fault in faults if fault.sheet == title)
                name = _NOT_IN_TITLES.sub(" ", title)[:31]
                _copy_sheet(book.create_sheet(name), source, title, marks)
    book.save(copy)


def _list(page: Any, faults: Iterable[Fault]) -> None:
    page.append(["Sheet", "Row", "Column", "What is wrong"])
    for fault in faults:
        texts = (fault.sheet, fault.column, str(fault))
        sheet, column, sentence = map(as_copy, texts)
        page.append([sheet, fault.row, column, sentence])


def _by_row(faults: Iterable[Fault]) -> Marks:
    marks: dict[int, list[Fault]] = defaultdict(list)
    for fault in faults:
        marks[fault.row or 1].append(fault)
    return marks


def _copy_sheet(page: Any, source: Source, title: str, marks: Marks) -> None:
    written = 0
    for number, cells in source.rows(title):
        for _ in range(written + 1, number):
            page.append([])
        page.append(_marked(page, cells, marks.get(number, ())))
        written = number


def _marked(page: Any, cells: Cells, faults: Sequence[Fault]) -> list[Any]:
    row = [_copied(cell) for cell in cells]
    said: dict[int, list[str]] = defaultdict(list)
    for fault in faults:
        said[fault.place or 0].append(f"{fault.expected}.")
    for place, sentences in said.items():
        row += [None] * (place + 1 - len(row))
        cell = WriteOnlyCell(page, value=row[place])
        cell.fill = _FILL
        cell.comment = Comment("\n".join(sentences), "", height=_HEIGHT, width=_WIDTH)
        row[place] = cell
    return row


def _copied(cell: Any) -> Any:
    if isinstance(cell, str):
        return as_copy(cell)
    return None if isinstance(cell, Uncomputed) else cell
