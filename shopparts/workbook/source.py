"""A file opened as sheets of rows: an xlsx workbook, or a csv file as the one sheet it holds.

Nothing here knows what the rows mean. Whatever a broken file makes the parsers raise becomes one
sentence; `guard` has looked at the file before any parser sees it.
"""

import csv
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Protocol

from defusedxml import DefusedXmlException
from openpyxl.reader.excel import ExcelReader

from shopparts.workbook.faults import UnreadableError
from shopparts.workbook.guard import CELLS_A_ROW, ROWS_A_SHEET, guarded
from shopparts.workbook.rows import ENTITIES, Cells, Look, sheet_rows


class Source(Protocol):
    name: str
    even: bool
    """Whether every row must be as long as the headings; a workbook leaves blank ends out."""

    @property
    def titles(self) -> list[str]: ...

    def rows(self, title: str) -> Iterator[tuple[int, Cells]]:
        """Row numbers and cells; rows without any value are left out."""


@contextmanager
def opened(path: Path, *, sheet: str = "") -> Iterator[Source]:
    """The file's sheets. `sheet` names the one in a csv file, else the file's name does."""
    if guarded(path) == "csv":
        yield _Csv(path, sheet or path.stem)
        return
    # Opened here, so that it is closed too when openpyxl stumbles half-way.
    with path.open("rb") as file:
        with _sentence(path.name), warnings.catch_warnings():
            # What openpyxl leaves out (pictures, styles, rules) is nothing we read.
            warnings.simplefilter("ignore")
            book = _Opener(file, read_only=True, data_only=True, keep_links=False)
            book.read()
        yield _Xlsx(path.name, book)


@contextmanager
def _sentence(name: str) -> Iterator[None]:
    try:
        yield
    except UnreadableError:
        raise
    except Exception as broken:
        # The parsers of zip, XML and cells raise whatever they stumble over in a mutated file.
        if isinstance(broken.__context__, DefusedXmlException):
            raise UnreadableError(ENTITIES) from broken
        raise UnreadableError(
            f"The file “{name}” is damaged or no workbook; open it in a spreadsheet program and "
            "save it again as .xlsx"
        ) from broken


class _Opener(ExcelReader):
    """Opens a workbook and leaves its sheets alone.

    openpyxl walks through a whole sheet that does not tell its size, only to learn it: a third of
    the time of a check.
    """

    def read_worksheets(self) -> None:
        self.paths = {
            sheet.name: rel.target
            for sheet, rel in self.parser.find_sheets()
            if rel.target in self.valid_files and "chartsheet" not in rel.Type
        }


class _Xlsx:
    def __init__(self, name: str, book: _Opener) -> None:
        self.name = name
        self.even = False
        self._book = book

    @property
    def titles(self) -> list[str]:
        return list(self._book.paths)

    def rows(self, title: str) -> Iterator[tuple[int, Cells]]:
        book: Any = self._book.wb
        look = Look(
            strings=self._book.shared_strings,
            dates=frozenset(book._date_formats),
            spans=frozenset(book._timedelta_formats),
            epoch=book.epoch,
        )
        with _sentence(self.name), self._book.archive.open(self._book.paths[title]) as file:
            for number, cells in sheet_rows(file, look, widest=CELLS_A_ROW):
                _refuse_excess(title, number, len(cells))
                yield number, cells


class _Csv:
    def __init__(self, path: Path, title: str) -> None:
        self.name = path.name
        self.even = True
        self._path = path
        self._title = title

    @property
    def titles(self) -> list[str]:
        return [self._title]

    def rows(self, title: str) -> Iterator[tuple[int, Cells]]:
        try:
            with self._path.open(encoding="utf-8-sig", newline="") as file:
                start = file.readline()
                file.seek(0)
                separator = max(",;\t", key=start.count)
                number = 1
                reader = csv.reader(file, delimiter=separator, strict=True)
                for cells in reader:
                    if any(cells):
                        _refuse_excess(title, number, len(cells))
                        yield number, tuple(cells)
                    number = reader.line_num + 1
        except UnicodeDecodeError:
            raise UnreadableError(
                f"The file “{self.name}” is not written in UTF-8; save it as “CSV UTF-8” or .xlsx"
            ) from None
        except csv.Error as broken:
            raise UnreadableError(
                f"The file “{self.name}” is no csv file ({broken}); save it as .xlsx"
            ) from None


def _refuse_excess(title: str, number: int, cells: int) -> None:
    if cells > CELLS_A_ROW:
        raise UnreadableError(
            f"Sheet “{title}”, row {number} has {cells} columns; a sheet here has at most "
            f"{CELLS_A_ROW}"
        )
    if number > ROWS_A_SHEET:
        raise UnreadableError(
            f"Sheet “{title}” has more than {ROWS_A_SHEET} rows; split it over several files"
        )
