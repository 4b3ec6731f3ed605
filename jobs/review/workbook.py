"""Tables of a money page as a workbook: one sheet each, the filter above, plain values below.

Text that a spreadsheet would run is neutralised; amounts are in the shop's currency.
"""

from collections.abc import Iterator, Sequence
from decimal import Decimal
from io import BytesIO
from typing import Any

from openpyxl import Workbook
from openpyxl.cell import Cell, WriteOnlyCell
from openpyxl.styles import Font
from openpyxl.utils import get_column_letter

from inventory.sheet.text import as_cell
from jobs.review.columns import (
    AmountColumn,
    DayColumn,
    MoneyTable,
    RateColumn,
    RatioColumn,
    ShareColumn,
)

HEAD_ROW = 4
_NOTE = Font(italic=True, color="55636D")
_HEAD = Font(bold=True)
# A spreadsheet takes at most 31 letters, and none of these, in the name of a sheet.
_NAME_LETTERS = 31
_NOT_IN_A_NAME = str.maketrans(dict.fromkeys("[]:*?/\\", " "))


def workbook(tables: Sequence[MoneyTable], *, filtered: str) -> bytes:
    """`filtered`: which days and site, in words; it stands above the figures of every sheet."""
    book = Workbook(write_only=True)
    for table in tables:
        page: Any = book.create_sheet(table.title.translate(_NOT_IN_A_NAME)[:_NAME_LETTERS])
        heads = [str(column.header) for column in table.columns]
        rows = list(_rows(table))
        page.freeze_panes = f"A{HEAD_ROW + 1}"
        page.auto_filter.ref = f"A{HEAD_ROW}:{get_column_letter(len(heads))}{HEAD_ROW + len(rows)}"
        for place, head in enumerate(heads, start=1):
            page.column_dimensions[get_column_letter(place)].width = max(14, len(head) + 4)
        page.append([_cell(page, table.title, font=_HEAD)])
        page.append([_cell(page, f"{filtered} Amounts in {table.shop.currency}.", font=_NOTE)])
        page.append([])
        page.append([_cell(page, head, font=_HEAD) for head in heads])
        for row in rows:
            page.append([_formatted(page, table, column, value) for column, value in row])
    out = BytesIO()
    book.save(out)
    return out.getvalue()


def _rows(table: MoneyTable) -> Iterator[list[tuple[Any, Any]]]:
    """Every row, whatever page is shown, in the order of the page."""
    for row in table.rows:
        yield [(column.column, row.get_cell_value(column.name)) for column in table.columns]


def _formatted(page: Any, table: MoneyTable, column: Any, value: Any) -> Cell | None:
    if value is None or value == "":
        return None
    digits = table.shop.minor_digits
    if isinstance(column, AmountColumn):
        decimals = "." + "0" * digits if digits else ""
        return _cell(page, Decimal(value).scaleb(-digits), number_format=f"#,##0{decimals}")
    formats = {ShareColumn: "0%", RateColumn: "0.0%", RatioColumn: "0.00", DayColumn: "yyyy-mm-dd"}
    return _cell(page, value, number_format=formats.get(type(column), "General"))


def _cell(page: Any, value: Any, **style: Any) -> Cell:
    cell: Cell = WriteOnlyCell(page, value=as_cell(value) if isinstance(value, str) else value)
    for name, part in style.items():
        setattr(cell, name, part)
    return cell
