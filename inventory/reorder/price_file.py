"""A supplier's price list as it came: a csv or xlsx file read into headings and rows of text.

Uploads are hostile until proven: sizes are looked at before a parser opens the file, XML is read
without entities (openpyxl uses defusedxml), and whatever a broken file makes the parsers raise
becomes one sentence. What the columns mean is `price_match`.
"""

import csv
import warnings
import zipfile
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from io import BytesIO, StringIO
from itertools import islice

from django.core.exceptions import ValidationError
from openpyxl import load_workbook

FILE_BYTES = 5_000_000
UNPACKED_BYTES = 100_000_000
ROWS = 20_000
COLUMNS = 60
LETTERS = 120
# Above the headings some suppliers write their address and conditions.
LINES_ABOVE_HEADINGS = 30


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceTable:
    """Headings made distinct, and rows of as many cells, all text."""

    heads: list[str]
    rows: list[list[str]]


def read_price_file(name: str, data: bytes) -> PriceTable:
    """The first table in the file.

    Raises
    ------
    ValidationError
        If the file is too large, of another kind, broken, or holds no table; says what next.
    """
    if len(data) > FILE_BYTES:
        raise ValidationError(
            f"“{name}” has {len(data) / 1e6:.1f} MB and at most {FILE_BYTES // 1_000_000} are "
            "read; leave out what is no price, or split it."
        )
    return _table(name, _xlsx_rows(name, data) if data[:2] == b"PK" else _csv_rows(name, data))


def _csv_rows(name: str, data: bytes) -> list[list[str]]:
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise ValidationError(
            f"“{name}” is neither a workbook nor text in UTF-8; save it as xlsx or as CSV UTF-8."
        ) from None
    if "\x00" in text:
        raise ValidationError(f"“{name}” is no price list; save it as xlsx or as CSV UTF-8.")
    first = text[: text.find("\n")] if "\n" in text else text
    separator = max(",;\t", key=first.count)
    try:
        return _taken(csv.reader(StringIO(text), delimiter=separator))
    except csv.Error as broken:
        raise ValidationError(f"“{name}” is no csv file ({broken}); save it as xlsx.") from None


def _xlsx_rows(name: str, data: bytes) -> list[list[str]]:
    try:
        with zipfile.ZipFile(BytesIO(data)) as packed:
            unpacked = sum(entry.file_size for entry in packed.infolist())
        if unpacked > UNPACKED_BYTES:
            raise ValidationError(
                f"“{name}” unpacks to more than is read here; save the one sheet as CSV UTF-8."
            )
        with warnings.catch_warnings():
            # What openpyxl leaves out (pictures, styles, rules) is nothing we read.
            warnings.simplefilter("ignore")
            book = load_workbook(BytesIO(data), read_only=True, data_only=True, keep_links=False)
            sheet = book.worksheets[0]
            return _taken(sheet.iter_rows(max_col=COLUMNS, values_only=True))
    except ValidationError:
        raise
    except Exception as broken:
        # The parsers of zip, XML and cells raise whatever they stumble over in a mutated file.
        raise ValidationError(
            f"“{name}” is damaged or no workbook; open it in a spreadsheet program and save it "
            "again as xlsx."
        ) from broken


def _taken(rows: Iterable[Sequence[object]]) -> list[list[str]]:
    """At most so many rows; one more than are read tells that there were more."""
    filled = (row for row in map(_texts, rows) if any(row))
    return list(islice(filled, ROWS + LINES_ABOVE_HEADINGS + 1))


def _texts(row: Sequence[object]) -> list[str]:
    texts = [_text(cell) for cell in row[:COLUMNS]]
    while texts and not texts[-1]:
        texts.pop()
    return texts


def _text(cell: object) -> str:
    if cell is None:
        return ""
    if isinstance(cell, datetime | date):
        return cell.isoformat()[:10]
    if isinstance(cell, float):
        # As a person would type it: 12.5 and 7, never 7.0 or 1e-05.
        return f"{cell:.6f}".rstrip("0").rstrip(".")
    return str(cell).replace("\x00", "").strip()[:LETTERS]


def _table(name: str, rows: list[list[str]]) -> PriceTable:
    place = next((n for n, row in enumerate(rows[:LINES_ABOVE_HEADINGS]) if _is_heads(row)), None)
    if place is None:
        raise ValidationError(
            f"“{name}” has no row of headings in its first {LINES_ABOVE_HEADINGS} rows; name each "
            "column above its figures."
        )
    found = rows[place + 1 :]
    if not found:
        raise ValidationError(f"“{name}” has headings and no rows below them; choose another file.")
    if len(found) > ROWS:
        raise ValidationError(f"“{name}” has more than {ROWS} rows; split it over several files.")
    width = max(len(row) for row in rows[place:])
    padded = [row + [""] * (width - len(row)) for row in rows[place:]]
    return PriceTable(heads=list(_distinct(padded[0])), rows=padded[1:])


def _is_heads(row: Sequence[str]) -> bool:
    """Two words or more, and no figure among them: the address above has one cell a row."""
    words = [cell for cell in row if cell]
    return len(words) > 1 and not any(_is_figure(cell) for cell in words)


def _is_figure(cell: str) -> bool:
    return cell.replace(".", "").replace(",", "").replace(" ", "").isdigit()


def _distinct(heads: Sequence[str]) -> Iterator[str]:
    seen: set[str] = set()
    for number, head in enumerate(heads, start=1):
        name = head or f"Column {number}"
        if name in seen:
            name = f"{name} (column {number})"
        seen.add(name)
        yield name
