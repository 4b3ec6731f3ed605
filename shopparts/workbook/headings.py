"""Which column of a sheet is which: headings in any case, with units, in the words of the trade."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any

from inventory.sheet import Column, Kind, Sheet
from shopparts.workbook.amounts import PRESSURES, TORQUES, letters
from shopparts.workbook.faults import Fault, quoted
from shopparts.workbook.rows import Cells

LOOKED_THROUGH = 20
"""Rows in which the headings may stand: notes and an example may come before them."""

FEWEST_ALIKE = 2
"""Headings in common from which a sheet of another name may be meant for one of ours."""

_UNITS = {Kind.PRESSURE: tuple(PRESSURES), Kind.TORQUE: tuple(TORQUES), Kind.CHOICE: ("mhz",)}


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """A column at its place in the rows, and the unit its heading names."""

    place: int
    column: Column
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Headings:
    row: int
    found: tuple[Found, ...]
    width: int
    unread: tuple[str, ...]
    unheaded: tuple[int, ...]
    faults: tuple[Fault, ...]

    @property
    def missing(self) -> bool:
        return not self.found


def headings(sheet: Sheet, title: str, top: Sequence[tuple[int, Cells]]) -> Headings:
    """The row among the first ones that names most columns, and what is wrong with it."""
    names = _names(sheet)
    best_row, best = max(
        ((number, _matched(names, cells)) for number, cells in top),
        key=lambda candidate: sum(found is not None for found in candidate[1]),
        default=(1, []),
    )
    cells = dict(top).get(best_row, ())
    found = tuple(one for one in best if one is not None)
    if not found:
        expected = ", ".join(column.heading for column in sheet.columns)
        fault = Fault(
            sheet=title,
            row=best_row,
            expected=f"no headings found in the first "
            f"{LOOKED_THROUGH} rows; head the columns: {expected}",
        )
        return Headings(row=best_row, found=(), width=0, unread=(), unheaded=(), faults=(fault,))
    unknown = [
        (place, cell)
        for place, cell in enumerate(cells)
        if best[place] is None and str(cell if cell is not None else "").strip()
    ]
    faults = [*_doubled(title, best_row, found), *_misspelt(title, best_row, names, unknown)]
    misspelt = {fault.column for fault in faults}
    width = max(place for place, cell in enumerate(cells) if cell not in {None, ""}) + 1
    return Headings(
        row=best_row,
        found=found,
        width=width,
        unheaded=tuple(at for at in range(width) if not str(cells[at] or "").strip()),
        unread=tuple(str(cell) for _, cell in unknown if str(cell) not in misspelt),
        faults=tuple(faults),
    )


def likeliest(sheets: Iterable[Sheet], top: Sequence[tuple[int, Cells]]) -> str:
    """The title of the sheet whose headings these rows hold; "" where none or several might be."""
    counts = sorted(((_most_matched(sheet, top), sheet.title) for sheet in sheets), reverse=True)
    (most, title), (next_most, _) = counts[:2]
    return title if most >= FEWEST_ALIKE and most > next_most else ""


def _most_matched(sheet: Sheet, top: Sequence[tuple[int, Cells]]) -> int:
    """Different columns of the sheet that one of the rows names; 0 where its key is not there."""
    named = [{one.column.field for one in headings(sheet, "", [row]).found} for row in top]
    return max((len(fields) for fields in named if fields.issuperset(sheet.key)), default=0)


def _names(sheet: Sheet) -> dict[str, Column]:
    """The columns by their headings as letters; the declared heading wins over other words."""
    also = {letters(word): column for column in sheet.columns for word in column.also}
    return also | {letters(column.heading): column for column in sheet.columns}


def _matched(names: dict[str, Column], cells: Cells) -> list[Found | None]:
    return [_match(names, place, cell) for place, cell in enumerate(cells)]


def _match(names: dict[str, Column], place: int, cell: Any) -> Found | None:
    word = letters(str(cell)) if cell is not None else ""
    if word in names:
        return Found(place=place, column=names[word], unit="")
    for column, unit in _with_unit(names, word):
        return Found(place=place, column=column, unit=unit)
    return None


def _with_unit(names: dict[str, Column], word: str) -> Iterator[tuple[Column, str]]:
    for kind, units in _UNITS.items():
        for unit in sorted(units, key=len, reverse=True):
            column = names.get(word.removesuffix(unit)) if word.endswith(unit) else None
            if column is not None and column.kind is kind:
                yield column, unit


def _doubled(title: str, row: int, found: Sequence[Found]) -> Iterator[Fault]:
    seen: set[str] = set()
    for one in found:
        if one.column.field in seen:
            yield Fault(
                sheet=title,
                row=row,
                column=one.column.heading,
                place=one.place,
                expected="two columns have this heading; keep one",
            )
        seen.add(one.column.field)


def _misspelt(
    title: str, row: int, names: dict[str, Column], unknown: Sequence[tuple[int, Any]]
) -> Iterator[Fault]:
    """A heading that nearly is one of ours would be lost in silence; others are only named."""
    for place, cell in unknown:
        for close in get_close_matches(letters(str(cell)), names, n=1, cutoff=0.8):
            yield Fault(
                sheet=title,
                row=row,
                column=str(cell),
                said=str(cell),
                place=place,
                expected=f"no column has this heading; write {quoted(names[close].heading)} "
                "or remove the column",
            )
