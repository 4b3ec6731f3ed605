"""Parts that newer ones took the place of: whose demand goes where, and what is used up first."""

from dataclasses import dataclass
from datetime import date

import numpy as np
from django.db.models import F, Q
from numpy.typing import NDArray

from inventory.catalog.models import Supersession
from inventory.reorder.inputs.asks import Expected
from inventory.reorder.inputs.facts import Ints, Rows
from inventory.shop.amounts import count_text

NAMED = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Superseded:
    """From a part that is no longer bought to the newest that took its place."""

    newest: dict[int, int]
    number: dict[int, str]

    def handed_on(self, facts: Ints) -> Ints:
        """The facts, their first column the part, with the newest part in place of older ones."""
        if not self.newest:
            return facts
        old = np.array(sorted(self.newest), dtype=np.int64)
        new = np.array([self.newest[part] for part in old.tolist()], dtype=np.int64)
        place = np.minimum(np.searchsorted(old, facts[:, 0]), len(old) - 1)
        is_old = old[place] == facts[:, 0]
        changed = facts.copy()
        changed[is_old, 0] = new[place[is_old]]
        return changed

    def expected(self, asks: Expected) -> Expected:
        """What the vehicles lead us to expect, the old parts' share added to the new ones'."""
        summed: dict[tuple[int, int], tuple[float, float]] = {}
        for part, site, mean, variance in asks:
            at = self.newest.get(part, part), site
            before = summed.get(at, (0.0, 0.0))
            summed[at] = before[0] + mean, before[1] + variance
        return [(part, site, *moments) for (part, site), moments in summed.items()]

    def rows(self, rows: Rows) -> NDArray[np.bool_]:
        """Which rows are of parts that are no longer bought."""
        return np.isin(rows.part, list(self.newest))

    def notes(self, rows: Rows, older: Ints) -> list[str]:
        """What to know of a row because of a supersession; most need nothing."""
        olds: dict[int, list[str]] = {}
        for old, new in self.newest.items():
            olds.setdefault(new, []).append(self.number[old])
        return [
            self._note(part, pieces, olds)
            for part, pieces in zip(rows.part.tolist(), older.tolist(), strict=True)
        ]

    def _note(self, part: int, pieces: int, olds: dict[int, list[str]]) -> str:
        if part in self.newest:
            return f"Superseded by {self.number[self.newest[part]]}: use it up, buy no more."
        if pieces > 0:
            names = " and ".join(sorted(olds[part])[:NAMED])
            return f"Use up {count_text(pieces, 'piece')} of {names} first."
        return ""

    def older(self, rows: Rows, shelves: Ints) -> Ints:
        """By row, free pieces of the parts it took the place of; they are used up first."""
        old = shelves[np.isin(shelves[:, 0], list(self.newest))]
        free = np.column_stack([old[:, :2], old[:, 2] - old[:, 3]])
        return rows.total(self.handed_on(free))


def read_superseded(as_of: date) -> Superseded:
    """Supersessions that hold on a day. Of several for one part the last one holds."""
    holding = Q(since=None) | Q(since__lte=as_of)
    found: list[tuple[int, int, str, str]] = list(
        Supersession.objects.filter(holding)
        .order_by(F("since").asc(nulls_first=True), "pk")
        .values_list("old_id", "new_id", "old__number", "new__number")
    )
    step = {old: new for old, new, _, _ in found}
    return Superseded(
        newest={old: end for old in step if (end := _end(old, step)) != old},
        number={old: name for old, _, name, _ in found} | {new: name for _, new, _, name in found},
    )


def _end(part: int, step: dict[int, int]) -> int:
    """The last part of a chain; where a chain bites its tail, the part itself."""
    seen, at = {part}, part
    while at in step:
        at = step[at]
        if at in seen:
            return part
        seen.add(at)
    return at
