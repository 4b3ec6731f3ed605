"""Which keys a reference may name: those in the database, and those of the workbook being read."""

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from inventory.sheet import Column, Key, Row, Sheet

Same = Callable[[str], str] | None


class Keys:
    """Keys by sheet, each as its columns compare it. Known ones are read when first asked for."""

    def __init__(self, sheets: Mapping[str, Sheet]) -> None:
        self._sheets = sheets
        self._sames: dict[str, tuple[Same, ...]] = {
            title: tuple(column.same for column in sheet.key_columns)
            for title, sheet in sheets.items()
        }
        self._known: dict[str, dict[Key, int]] = {}
        self._coming: dict[str, dict[Key, int]] = {title: {} for title in sheets}
        self._spoiled: dict[str, set[Key]] = {title: set() for title in sheets}

    def sheet(self, title: str) -> Sheet:
        return self._sheets[title]

    def known(self, title: str) -> dict[Key, int]:
        if title not in self._known:
            sames = self._sames[title]
            found = self._sheets[title].known()
            self._known[title] = {_compared(sames, values): pk for values, pk in found}
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

    def key_of(self, sheet: Sheet, row: Row) -> Key:
        return _compared(self._sames[sheet.title], [row[field] for field in sheet.key])

    def named(self, column: Column, row: Row) -> Key | None:
        """The key that a reference names; None where it names nothing."""
        values = [*(row.get(field) for field in column.beside), row[column.field]]
        if None in values or "" in values:
            return None
        return _compared(self._sames[column.to], values)

    def resolver(self, sheet: Sheet) -> Callable[[Row], Row]:
        """The function that puts primary keys in the place of keys, as a sheet's actions want it.

        It takes rows with the keys they name, and with their own as "pk". What a row names on its
        own sheet stays a key.
        """
        references = [c for c in sheet.columns if c.to and c.to != sheet.title]
        known = self.known(sheet.title)
        others = [(c.field, self.known(c.to)) for c in references]

        def resolved(row: Row) -> Row:
            new = dict(row)
            new["pk"] = known.get(row["pk"])
            for field, pks in others:
                key = row.get(field)
                if key is not None:
                    new[field] = pks.get(key, key)
            return new

        return resolved


def _compared(sames: tuple[Same, ...], values: Iterable[Any]) -> Key:
    return tuple(
        [
            value if same is None or type(value) is not str else same(value)
            for same, value in zip(sames, values, strict=True)
        ]
    )
