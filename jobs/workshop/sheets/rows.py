"""Rows made ready for the sheet of a plain model: what a column cannot say by itself.

Records of one sheet that name one another (a comeback its job, a moved piece the one it
continues) arrive as keys, because the other comes with the same workbook, in an earlier row; they
are linked after all are there.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from django.db import models

from inventory.sheet import Changed, Check, Key, Refusal, Row, Saved, Sheet
from inventory.sheet.records import runs

Fill = Callable[[Sequence[Row]], list[Row]]
"""Makes a run of rows ready, looking up what the run names in one query or a few."""


def filled(sheet: Sheet, fill: Fill) -> Sheet:
    """The sheet with its rows made ready by `fill`."""

    def checker() -> Check:
        inner = sheet.checker()
        return lambda rows: inner(fill(rows))

    def save(rows: Iterable[Row], *, by: Any) -> Saved:
        return sheet.save((row for run in runs(rows) for row in fill(run)), by=by)

    return replace(
        sheet, checker=checker, compare=lambda rows: sheet.compare(fill(rows)), save=save
    )


def linked(sheet: Sheet, model: type[models.Model], *fields: str) -> Sheet:
    """The sheet of records that name one another in `fields`."""
    links = _Links(sheet=sheet, model=model, fields=fields)
    return replace(
        sheet, rows=links.rows, checker=links.checker, compare=links.compare, save=links.save
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Links:
    sheet: Sheet
    model: type[models.Model]
    fields: tuple[str, ...]

    def rows(self) -> Iterator[Row]:
        """Every record after those it names, else in the order of the sheet."""
        told: set[Key] = set()
        waiting: defaultdict[Key, list[Row]] = defaultdict(list)
        for row in self.sheet.rows():
            ready = [row]
            while ready:
                one = ready.pop()
                named = ((one[field],) for field in self.fields if one[field] is not None)
                if missing := next((key for key in named if key not in told), None):
                    waiting[missing].append(one)
                    continue
                yield one
                told.add(self._key(one))
                ready += waiting.pop(self._key(one), [])

    def checker(self) -> Check:
        inner = self.sheet.checker()

        def check(rows: Sequence[Row]) -> Iterable[Refusal]:
            # A key not yet known stays in its place: the record it names comes with this workbook.
            known = self._named_by(rows)
            return inner([row | self._there(row, known) for row in rows])

        return check

    def compare(self, rows: Sequence[Row]) -> Iterable[Changed]:
        known = self._named_by(rows)
        return self.sheet.compare([self._bare(row, known) for row in rows])

    def save(self, rows: Iterable[Row], *, by: Any) -> Saved:
        known = self._known()
        later: list[tuple[Key, str, Key]] = []

        def bare() -> Iterator[Row]:
            for row in rows:
                for field in self._missing(row, known):
                    later.append((self._key(row), field, row[field]))
                yield self._bare(row, known)

        saved = self.sheet.save(bare(), by=by)
        if later:
            self._link(later)
        return saved

    def _known(self) -> dict[Key, int]:
        return dict(self.sheet.known())

    def _named_by(self, rows: Sequence[Row]) -> dict[Key, int]:
        """Primary keys of those records the rows name that are there already."""
        named = {row[f][0] for row in rows for f in self.fields if row.get(f) is not None}
        (field,) = self.sheet.key
        found = self.model._default_manager.filter(**{f"{field}__in": named})
        return {(key,): pk for key, pk in found.values_list(field, "pk")}

    def _key(self, row: Row) -> Key:
        return tuple(row[field] for field in self.sheet.key)

    def _there(self, row: Row, known: dict[Key, int]) -> Row:
        named = {field: row[field] for field in self.fields if row.get(field) is not None}
        return {field: known[key] for field, key in named.items() if key in known}

    def _missing(self, row: Row, known: dict[Key, int]) -> list[str]:
        return [f for f in self.fields if row.get(f) is not None and row[f] not in known]

    def _bare(self, row: Row, known: dict[Key, int]) -> Row:
        missing = self._missing(row, known)
        kept = {field: value for field, value in row.items() if field not in missing}
        return kept | self._there(row, known)

    def _link(self, later: Sequence[tuple[Key, str, Key]]) -> None:
        known = self._known()
        records = self.model._default_manager.in_bulk([known[key] for key, _, _ in later])
        for key, field, named in later:
            setattr(records[known[key]], f"{field}_id", known[named])
        self.model._default_manager.bulk_update(records.values(), self.fields, batch_size=200)
