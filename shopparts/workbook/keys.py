"""Which keys a reference may name: those in the database, and those of the workbook being read."""

from collections.abc import Mapping
from typing import Any

from inventory.sheet import Column, Key, Row, Sheet, as_key


class Keys:
    """Keys by sheet. Known ones are read from the database when first asked for."""

    def __init__(self, sheets: Mapping[str, Sheet]) -> None:
        self._sheets = sheets
        self._known: dict[str, dict[Key, int]] = {}
        self._coming: dict[str, dict[Key, int]] = {title: {} for title in sheets}
        self._spoiled: dict[str, set[Key]] = {title: set() for title in sheets}

    def known(self, title: str) -> dict[Key, int]:
        if title not in self._known:
            sheet = self._sheets[title]
            columns = sheet.key_columns
            self._known[title] = {as_key(columns, values): pk for values, pk in sheet.known()}
        return self._known[title]

    def forget(self, title: str) -> None:
        """After a save: the next question reads the new records' primary keys too."""
        self._known.pop(title, None)

    def claim(self, title: str, key: Key, row: int) -> int | None:
        """Note that a row brings this key; the row that already did, if one has."""
        before = self._coming[title].setdefault(key, row)
        return None if before == row else before

    def spoil(self, title: str, key: Key) -> None:
        """The row that brings this key is at fault: what refers to it is left out, not blamed."""
        self._spoiled[title].add(key)

    def is_spoiled(self, title: str, key: Key) -> bool:
        return key in self._spoiled[title] and key not in self.known(title)

    def may_name(self, title: str, key: Key) -> bool:
        coming = key in self._coming[title] and key not in self._spoiled[title]
        return coming or key in self.known(title)

    def named(self, column: Column, row: Row) -> Key | None:
        """The key that a reference names; None where it names nothing."""
        values = [*(row.get(field) for field in column.beside), row[column.field]]
        if None in values or "" in values:
            return None
        return as_key(self._sheets[column.to].key_columns, values)

    def resolved(self, sheet: Sheet, row: Row) -> Row:
        """The row with primary keys for the keys it names, as a sheet's actions take it."""
        new: Row = dict(row)
        for column in sheet.columns:
            if not column.to or column.field not in row:
                continue
            key = self.named(column, row)
            own = column.to == sheet.title
            new[column.field] = key if own or key is None else self.known(column.to).get(key, key)
        new["pk"] = self.known(sheet.title).get(self.key_of(sheet, row))
        return new

    @staticmethod
    def key_of(sheet: Sheet, row: Row) -> Key:
        values: list[Any] = [row[field] for field in sheet.key]
        return as_key(sheet.key_columns, values)

    def sheet(self, title: str) -> Sheet:
        return self._sheets[title]
