"""The cells of one worksheet, row by row, from its XML.

openpyxl opens the workbook and knows its strings, styles and dates; only the walk through the rows
is our own, on lxml, because openpyxl's goes through Python for every element and took two thirds
of the time of a load. Formulas come as the value last computed; a DTD is refused.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import IO, Any

from lxml import etree
from openpyxl.utils import column_index_from_string
from openpyxl.utils.datetime import from_excel, from_ISO8601

from shopparts.workbook.faults import UnreadableError

Cells = tuple[Any, ...]
_LOOKED_AT = 4096
ENTITIES = "The workbook declares entities of its own; save it again"


@dataclass(frozen=True, slots=True)
class Uncomputed:
    """Stands in the cell of a formula that no program has computed yet."""

    def __str__(self) -> str:
        return "a formula"


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """What the workbook says of its cells: its strings, and which styles are dates."""

    strings: Sequence[str]
    dates: frozenset[int]
    spans: frozenset[int]
    epoch: Any


def sheet_rows(source: IO[bytes], look: Look, *, widest: int) -> Iterator[tuple[int, Cells]]:
    """Row numbers and cells up to the last one filled; empty rows are left out.

    Raises
    ------
    UnreadableError
        If a row is wider than `widest`, or the XML declares entities of its own.
    """
    _refuse_doctype(source)
    reading = _Reading(look, widest)
    number = 0
    events = etree.iterparse(
        source,
        tag="{*}row",
        resolve_entities=False,
        no_network=True,
        remove_comments=True,
        remove_pis=True,
    )
    for _, row in events:
        if number == 0 and row.getroottree().docinfo.doctype:
            raise UnreadableError(ENTITIES)
        number = int(row.get("r") or number + 1)
        cells = reading.cells(row)
        if cells:
            yield number, cells
        row.clear()
        parent = row.getparent()
        while row.getprevious() is not None:
            del parent[0]


def _refuse_doctype(source: IO[bytes]) -> None:
    """Before the parser meets an entity; one behind a long comment is met at the first row."""
    if b"<!DOCTYPE" in source.read(_LOOKED_AT):
        raise UnreadableError(ENTITIES)
    source.seek(0)


class _Reading:
    def __init__(self, look: Look, widest: int) -> None:
        self.look = look
        self.widest = widest
        self.places: dict[str, int] = {}

    def cells(self, row: Any) -> Cells:
        cells: list[Any] = []
        filled = 0
        for cell in row:
            reference = cell.get("r")
            place = len(cells) if reference is None else self._place(reference)
            value = self._value(cell)
            if value is None:
                continue
            if place >= self.widest:
                raise UnreadableError(
                    f"Row {row.get('r')} has a value in column {place + 1}; "
                    f"a sheet here has at most {self.widest} columns"
                )
            if place < len(cells):
                cells[place] = value
            else:
                cells.extend([None] * (place - len(cells)))
                cells.append(value)
            filled += 1
        return tuple(cells) if filled else ()

    def _place(self, reference: str) -> int:
        letters = reference.rstrip("0123456789")
        place = self.places.get(letters)
        if place is None:
            place = self.places[letters] = column_index_from_string(letters) - 1
        return place

    def _value(self, cell: Any) -> Any:
        kind = cell.get("t", "n")
        text = None
        formula = False
        for child in cell:
            name = child.tag
            if name.endswith("}v"):
                text = child.text
            elif name.endswith("}is"):
                return _inline(child)
            else:
                formula = formula or name.endswith("}f")
        if text is None:
            return Uncomputed() if formula and kind != "str" else None
        if kind == "n":
            return self._number(cell, text)
        if kind == "s":
            return self.look.strings[int(text)]
        if kind == "b":
            return bool(int(text))
        return from_ISO8601(text) if kind == "d" else text  # type: ignore[no-untyped-call]

    def _number(self, cell: Any, text: str) -> Any:
        value = float(text) if "." in text or "E" in text or "e" in text else int(text)
        style = int(cell.get("s", 0))
        if style not in self.look.dates:
            return value
        try:
            return from_excel(value, self.look.epoch, timedelta=style in self.look.spans)
        except (OverflowError, ValueError):
            return "#VALUE!"


def _inline(element: Any) -> str:
    """The text of runs and plain text, without the readings written above it."""
    texts = []
    for child in element:
        if child.tag.endswith("}t"):
            texts.append(child.text or "")
        elif child.tag.endswith("}r"):
            texts += [t.text or "" for t in child if t.tag.endswith("}t")]
    return "".join(texts)
