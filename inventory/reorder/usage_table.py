"""Reads a plain table of usage: the first column the part, the header the periods, no database.

Takes csv and xlsx and finds every fault before anything is planned. What the figures mean for the
shelf is ``usage_plan``.
"""

import csv
import math
from collections.abc import Iterable, Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from openpyxl import load_workbook
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE
from openpyxl.utils import get_column_letter

FAULTS_SHOWN = 10
Cell = object
Row = Sequence[Cell]


class UsageTableError(ValueError):
    """The file cannot be planned from; its text says what, where and what next."""


@dataclass(frozen=True, slots=True, kw_only=True)
class UsageTable:
    """Pieces per part and period, oldest period first; NaN where the cell is blank."""

    parts: list[str]
    periods: list[str]
    pieces: NDArray[np.float64]


def read_usage_table(path: Path, *, sheet: str | None = None) -> UsageTable:
    """The table in a csv or xlsx file, or UsageTableError with every fault by row and column."""
    place, rows = opened(path, sheet)
    reader = TableReader(place=place)
    try:
        return reader.read(rows)
    except (csv.Error, UnicodeDecodeError) as fault:
        raise UsageTableError(
            f"{place} cannot be read as a table ({fault}); save it as csv in UTF-8, or as xlsx."
        ) from fault


def opened(path: Path, sheet: str | None) -> tuple[str, Iterator[Row]]:
    if not path.is_file():
        raise UsageTableError(f"There is no file {path}; check its name and folder.")
    if path.suffix.lower() in {".xlsx", ".xlsm"}:
        return sheet_rows(path, sheet)
    if path.suffix.lower() not in {".csv", ".txt"}:
        raise UsageTableError(f"{path.name} is neither csv nor xlsx; save it as one of the two.")
    if sheet is not None:
        raise UsageTableError(f"{path.name} is a csv file and has no sheets; leave --sheet out.")
    return path.name, csv_rows(path)


def csv_rows(path: Path) -> Iterator[Row]:
    try:
        with path.open(encoding="utf-8-sig", newline="") as file:
            header = file.readline()
            separator = max(",;\t", key=header.count)
            file.seek(0)
            yield from csv.reader(file, delimiter=separator)
    except OSError as fault:
        raise UsageTableError(
            f"{path.name} cannot be opened ({fault.strerror}); check who may read it."
        ) from fault


def sheet_rows(path: Path, sheet: str | None) -> tuple[str, Iterator[Row]]:
    with readable(path), closing(load_workbook(path, read_only=True)) as book:
        names = book.sheetnames
    if sheet is not None and sheet not in names:
        raise UsageTableError(
            f"{path.name} has no sheet {sheet!r}; its sheets are {', '.join(names)}."
        )
    name = sheet or names[0]
    place = f"{path.name}, sheet {name}"
    return place, reckoned(place, stored_rows(path, name, results=True), stored_rows(path, name))


def stored_rows(path: Path, sheet: str, *, results: bool = False) -> Iterator[Row]:
    """The cells as they stand in the file: formulas, or the results last saved with them."""
    with readable(path), closing(load_workbook(path, read_only=True, data_only=results)) as book:
        yield from book[sheet].iter_rows(values_only=True)


def reckoned(place: str, results: Iterable[Row], formulas: Iterable[Row]) -> Iterator[Row]:
    """The results; a formula saved without one would else pass for a blank cell."""
    for number, (row, formula) in enumerate(zip(results, formulas, strict=True), start=1):
        for column, (cell, written) in enumerate(zip(row, formula, strict=True), start=1):
            if cell is None and written is not None:
                raise UsageTableError(
                    f"{place}, row {number}, column {get_column_letter(column)}: the formula was "
                    "saved without its result; open the file in a spreadsheet program and save it."
                )
        yield row


@contextmanager
def readable(path: Path) -> Iterator[None]:
    """Whatever the parsers of zip, XML and cells stumble over in a broken file is one sentence."""
    try:
        yield
    except Exception as broken:
        raise UsageTableError(
            f"{path.name} is not a workbook that can be read; open it, save it as xlsx, try again."
        ) from broken


@dataclass(slots=True, kw_only=True)
class TableReader:
    """One pass over the rows, gathering figures and faults."""

    place: str
    faults: list[str] = field(default_factory=list)
    seen_in_row: dict[str, int] = field(default_factory=dict)

    def read(self, rows: Iterable[Row]) -> UsageTable:
        numbered = ((number, row) for number, row in enumerate(rows, start=1) if not is_empty(row))
        first = next(numbered, None)
        if first is None:
            raise UsageTableError(f"{self.place} is empty; it needs a header and a row a part.")
        periods = self.header(*first)
        pieces = [self.figures(number, row, periods) for number, row in numbered]
        if self.faults:
            raise UsageTableError(self.said())
        if not pieces:
            raise UsageTableError(f"{self.place} has a header but no parts; add a row a part.")
        return UsageTable(
            parts=list(self.seen_in_row), periods=periods, pieces=np.array(pieces, dtype=float)
        )

    def header(self, number: int, row: Row) -> list[str]:
        cells = without_blank_end(row)
        if len(cells) < 2:
            raise UsageTableError(
                f"{self.place}, row {number} holds no periods; the first column is the part, "
                "every further one a period, with a comma, semicolon or tab between them."
            )
        periods = [text(cell) for cell in cells[1:]]
        named: dict[str, int] = {}
        for column, period in enumerate(periods, start=2):
            if not period:
                self.fault(number, column, "the period has no name; name it")
            elif (first := named.setdefault(period, column)) != column:
                self.fault(
                    number,
                    column,
                    f"{period} already names column {get_column_letter(first)}; name each period "
                    "once, in a header above the first part",
                )
        return periods

    def figures(self, number: int, row: Row, periods: list[str]) -> list[float]:
        self.part(number, row[0])
        cells = self.squared(number, row, len(periods) + 1)
        try:
            # Almost every row is sound: only one that is not is looked at cell by cell.
            return sound_figures(cells[1:])
        except (TypeError, ValueError):
            return [
                self.figure(number, column, cell, periods)
                for column, cell in enumerate(cells[1:], start=2)
            ]

    def part(self, number: int, cell: Cell) -> None:
        name = text(cell)
        if not name:
            self.fault(number, 1, "the part has no name; name it, or remove the row")
        elif ILLEGAL_CHARACTERS_RE.search(name):
            self.fault(number, 1, "the part's name holds a control character; write it anew")
        elif name in self.seen_in_row:
            before = self.seen_in_row[name]
            self.fault(number, 1, f"part {name} already stands in row {before}; keep one of them")
        else:
            self.seen_in_row[name] = number

    def squared(self, number: int, row: Row, width: int) -> Row:
        """The row with one cell a column. A csv must have them all; a sheet has no ragged end."""
        cells = without_blank_end(row) if len(row) > width else row
        if len(cells) > width:
            self.fault(
                number, width + 1, f"the row has more cells than the header's {width}; remove them"
            )
        elif len(cells) < width:
            self.fault(
                number,
                len(cells) + 1,
                f"the row ends after {len(cells)} cells and the header has {width}; "
                "add the missing ones, blank where nothing is known",
            )
        return [*cells[:width], *[None] * (width - len(cells))]

    def figure(self, number: int, column: int, cell: Cell, periods: list[str]) -> float:
        if is_blank(cell):
            return math.nan
        try:
            return sound_figures([cell])[0]
        except (TypeError, ValueError):
            pass
        problem = what_is_wrong(cell)
        self.fault(number, column, f"{problem} in {periods[column - 2]}")
        return math.nan

    def fault(self, number: int, column: int, sentence: str) -> None:
        where = f"{self.place}, row {number}, column {get_column_letter(column)}"
        self.faults.append(f"{where}: {sentence}.")

    def said(self) -> str:
        more = len(self.faults) - FAULTS_SHOWN
        shown = self.faults[:FAULTS_SHOWN]
        return "\n".join([*shown, f"And {more} more faults."] if more > 0 else shown)


def sound_figures(cells: Row) -> list[float]:
    """The cells as whole numbers of pieces from 0 up, NaN where blank; ValueError otherwise."""
    figures = [math.nan if is_blank(cell) else number_in(cell) for cell in cells]
    for figure in figures:
        if figure < 0 or (figure == figure and not figure.is_integer()):
            raise ValueError(figure)
    return figures


def number_in(cell: Cell) -> float:
    if isinstance(cell, bool) or not isinstance(cell, int | float | str):
        raise TypeError(cell)
    try:
        number = float(cell)
    except OverflowError:
        raise ValueError(cell) from None
    if not math.isfinite(number) or (isinstance(cell, str) and "_" in cell):
        raise ValueError(cell)
    return number


def what_is_wrong(cell: Cell) -> str:
    try:
        number = number_in(cell)
    except (TypeError, ValueError):
        return f"{text(cell)!r} is not a number; write pieces, or leave the cell blank,"
    if number < 0:
        return f"{text(cell)} is negative; write the pieces used, 0 or more,"
    return f"{text(cell)} is not a whole number; write whole pieces"


def is_blank(cell: Cell) -> bool:
    return cell is None or (isinstance(cell, str) and not cell.strip())


def is_empty(row: Row) -> bool:
    return all(is_blank(cell) for cell in row)


def without_blank_end(row: Row) -> Row:
    end = len(row)
    while end and is_blank(row[end - 1]):
        end -= 1
    return row[:end]


def text(cell: Cell) -> str:
    if cell is None:
        return ""
    if isinstance(cell, float) and cell.is_integer():
        return str(int(cell))
    return str(cell).strip()
