"""One sheet checked row by row: cells, keys, references, and what its subject says of the rows."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain, islice
from typing import Any

from openpyxl.utils import get_column_letter

from inventory.sheet import Column, Key, Row, Sheet
from shopparts.workbook.cells import Read, Units, reader
from shopparts.workbook.faults import Fault, UnreadableError, as_clause, quoted
from shopparts.workbook.findings import CHANGES_KEPT, Findings, Shelf, Tally, Told
from shopparts.workbook.headings import LOOKED_THROUGH, Headings, headings
from shopparts.workbook.rows import Cells, Uncomputed
from shopparts.workbook.source import Source

AT_A_TIME = 1000
_TOTALS = frozenset({"total", "totals", "grand total", "subtotal", "sum"})
_UNCOMPUTED = (
    "the formula has no value yet; open the file in a spreadsheet program and save it again"
)


@dataclass(frozen=True, slots=True)
class _Reading:
    """One column being read: its place, how, and what stands for a blank."""

    place: int
    column: Column
    read: Read


class SheetCheck:
    def __init__(
        self,
        source: Source,
        title: str,
        sheet: Sheet,
        units: Units,
        result: Findings,
        told: Told | None,
    ) -> None:
        self.source = source
        self.title = title
        self.sheet = sheet
        self.units = units
        self.result = result
        self.keys = result.keys
        self.told = told
        self.tally = result.tallies[sheet.title] = Tally()
        self.shelf = result.shelves[sheet.title] = Shelf()
        self.changes = result.changes[sheet.title] = []
        self.check = sheet.checker()
        self.places: dict[str, int] = {}
        self.pending: list[tuple[int, Row]] = []

    def blame(
        self, row: int, column: str, said: Any, expected: str, place: int | None = None
    ) -> None:
        text = "" if said is None else str(said)
        self.result.blame(
            Fault(
                sheet=self.title,
                row=row,
                column=column,
                said=text,
                expected=expected,
                place=self.places.get(column, place),
            )
        )

    def note(self, words: str) -> None:
        self.result.notes.append(f"Sheet “{self.title}”: {words}.")

    def run(self) -> None:
        try:
            rows = self.source.rows(self.title)
            top = list(islice(rows, LOOKED_THROUGH))
            heads = headings(self.sheet, self.title, top)
            for fault in heads.faults:
                self.result.blame(fault)
            for name in heads.unread:
                self.note(f"the column “{name}” is not read")
            if not heads.faults:
                below = (row for row in top if row[0] > heads.row)
                self._read(heads, chain(below, rows))
        except UnreadableError as broken:
            self.result.blame(Fault(sheet="", expected=str(broken)))

    def _read(self, heads: Headings, rows: Iterator[tuple[int, Cells]]) -> None:
        readings = self._readings(heads)
        self.places = {one.column.heading: one.place for one in readings}
        here = {reading.column.field for reading in readings}
        absent = [column for column in self.sheet.columns if column.field not in here]
        # A row is named by all of its key, so a key column left out has its default in every row.
        fixed = {c.field: c.default for c in absent if c.field in self.sheet.key}
        needed = [column for column in absent if column.required]
        if lost := [column for column in needed if column.field in self.sheet.key]:
            self._blame_absent(heads.row, lost)
            return
        references = [c for c in self.sheet.columns if c.to and (c.field in here)]
        unheaded = set(heads.unheaded)
        for number, cells in rows:
            if _is_total(cells, readings):
                self.note(f"row {number} is a total and is not read")
                continue
            if unheaded:
                self._note_unheaded(unheaded, cells)
            self.tally.rows += 1
            row = self._row(number, cells, readings, heads.width)
            if row is None:
                continue
            row |= fixed
            keyed = self._keyed(number, row, references)
            if keyed is not None:
                self.pending.append((number, keyed))
            if len(self.pending) == AT_A_TIME:
                self._judge(heads.row, needed)
        self._judge(heads.row, needed)

    def _note_unheaded(self, unheaded: set[int], cells: Cells) -> None:
        """A column without a heading is read by nobody; say so once, where it holds something."""
        filled = [at for at in unheaded if at < len(cells) and str(cells[at] or "").strip()]
        for place in sorted(filled):
            unheaded.remove(place)
            self.note(
                f"column {get_column_letter(place + 1)} has values and no heading and is not read; "
                "unmerge its heading if they are meant"
            )

    def _readings(self, heads: Headings) -> list[_Reading]:
        # In the declared order, so that a column may say how later ones are read.
        order = {column.field: place for place, column in enumerate(self.sheet.columns)}
        found = sorted(heads.found, key=lambda one: order[one.column.field])
        return [
            _Reading(one.place, one.column, reader(one.column, self.units, one.unit))
            for one in found
        ]

    def _row(self, number: int, cells: Cells, readings: list[_Reading], width: int) -> Row | None:
        row: Row = {}
        length = len(cells)
        if self.source.even and length < width:
            self.blame(number, "", "", _too_short(length, width))
            return None
        sound = length <= width or self._ends(number, cells, width)
        for reading in readings:
            said = cells[reading.place] if reading.place < length else None
            if type(said) is str:
                said = said.strip()
            column = reading.column
            if said is None or said == "":
                if column.required:
                    sound = False
                    self.blame(number, column.heading, "", _blank(column))
                row[column.field] = column.default
                continue
            try:
                row[column.field] = reading.read(said)
            except UnreadableError as wrong:
                sound = False
                formula = isinstance(said, Uncomputed)
                self.blame(number, column.heading, said, _UNCOMPUTED if formula else str(wrong))
        if not sound:
            self._spoil(row)
        return row if sound else None

    def _ends(self, number: int, cells: Cells, width: int) -> bool:
        """Whether nothing stands beyond the last heading."""
        for place, cell in enumerate(cells[width:], start=width):
            if cell is not None and str(cell).strip():
                self.blame(
                    number,
                    "",
                    cell,
                    f"{quoted(cell)} stands beyond the last heading, in column {place + 1}; head "
                    "that column or move the value",
                    place,
                )
                return False
        return True

    def _spoil(self, row: Row) -> None:
        if all(row.get(name) is not None for name in self.sheet.key):
            self.keys.spoil(self.sheet.title, self.keys.key_of(self.sheet, row))

    def _keyed(self, number: int, row: Row, references: list[Column]) -> Row | None:
        """The row with the keys it names and its own; None where one is unknown or doubled."""
        key = self.keys.key_of(self.sheet, row)
        keyed = {**row, "pk": key}
        sound = True
        for column in references:
            named = keyed[column.field] = self.keys.named(column, row)
            if named is not None and not self.keys.may_name(column.to, named):
                sound = False
                self._miss(number, column, row, named)
        if not sound:
            self.keys.spoil(self.sheet.title, key)
            return None
        before = self.keys.claim(self.sheet.title, key, number)
        if before is None or self.sheet.many:
            return keyed
        self._blame_double(number, row, before)
        return None

    def _miss(self, number: int, column: Column, row: Row, named: Key) -> None:
        if self.keys.is_spoiled(column.to, named):
            self.tally.waiting += 1
        else:
            said = row[column.field]
            self.blame(number, column.heading, said, self._unknown(column, row))

    def _blame_double(self, number: int, row: Row, before: int) -> None:
        column = self.sheet.key_columns[-1] if self.sheet.key else self.sheet.columns[0]
        said = _described(self.sheet, [row[name] for name in self.sheet.key])
        self.blame(
            number,
            column.heading,
            row.get(column.field),
            f"the {self.sheet.one} with {said} is already in row {before}; keep one of the two"
            if said
            else f"there is one {self.sheet.one}, in row {before}; keep one of the two",
        )

    def _unknown(self, column: Column, row: Row) -> str:
        target = self.keys.sheet(column.to)
        said = _described(target, [*(row[name] for name in column.beside), row[column.field]])
        return f"no {target.one} has {said}; add it to the sheet “{target.title}” or correct it"

    def _judge(self, heading_row: int, needed: list[Column]) -> None:
        """Hold the pending rows against the rules of their subject; keep those found right."""
        run, self.pending = self.pending, []
        if not run:
            return
        resolved = self.keys.resolver(self.sheet)
        rows = [resolved(row) for _, row in run]
        absent: set[int] = set()
        if needed and any(row["pk"] is None for row in rows):
            self._blame_absent(heading_row, needed)
            needed.clear()
            absent = {index for index, row in enumerate(rows) if row["pk"] is None}
        wrong = set(absent)
        for refusal in self.check(rows):
            if refusal.index in absent:
                continue
            wrong.add(refusal.index)
            self._refuse(run[refusal.index], refusal.field, refusal.sentence)
        for index in wrong:
            self.keys.spoil(self.sheet.title, run[index][1]["pk"])
        right = [pair for index, pair in enumerate(run) if index not in wrong]
        self.tally.right += len(right)
        self.shelf.keep(right)
        room = CHANGES_KEPT - len(self.changes)
        if room > 0:
            sound = [row for index, row in enumerate(rows) if index not in wrong]
            self.changes.extend(islice(self.sheet.compare(sound), room))
        if self.told is not None:
            self.told(self.sheet.title, self.tally.rows)

    def _refuse(self, pair: tuple[int, Row], name: str, sentence: str) -> None:
        number, row = pair
        column = self.sheet.column(name)
        said = "" if column is None or column.to else row.get(name)
        self.blame(number, column.heading if column else "", said, as_clause(sentence))

    def _blame_absent(self, row: int, columns: list[Column]) -> None:
        for column in columns:
            self.blame(
                row,
                column.heading,
                "",
                f"this column is missing, and a new {self.sheet.one} needs it; add the column",
            )


def _is_total(cells: Cells, readings: Sequence[_Reading]) -> bool:
    """Whether the row only sums up those above: it begins with the word, and lacks what a row
    needs."""
    first = next((cell for cell in cells if cell not in (None, "")), None)
    if type(first) is not str or first.strip(" :\t").casefold() not in _TOTALS:
        return False
    needed = [one.place for one in readings if one.column.required]
    return any(at >= len(cells) or cells[at] in (None, "") for at in needed)


def _blank(column: Column) -> str:
    if column.choices:
        return f"the cell is blank; write one of: {', '.join(label for _, label in column.choices)}"
    example = "" if column.example is None else f", such as {column.example}"
    return f"the cell is blank; a value is needed here{example}"


def _described(sheet: Sheet, values: list[Any]) -> str:
    return " and ".join(
        f"the {column.heading[:1].lower() + column.heading[1:]} {quoted(value)}"
        for column, value in zip(sheet.key_columns, values, strict=True)
    )


def _too_short(cells: int, width: int) -> str:
    return (
        f"the row has {cells} cells and the headings are {width}; fill in the separators that "
        "are missing"
    )
