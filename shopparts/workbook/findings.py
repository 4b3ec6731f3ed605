"""What a check of a workbook has found so far: right rows, faults, counts, and what would change.

Rows found right are kept aside on disk, so that a large workbook takes no more memory than a small
one and is read once.
"""

import pickle
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from tempfile import SpooledTemporaryFile

from inventory.sheet import Changed, Row, Sheet
from shopparts.workbook.faults import Fault
from shopparts.workbook.keys import Keys

FAULTS_KEPT = 1000
CHANGES_KEPT = 200
_IN_MEMORY = 4_000_000

Told = Callable[[str, int], None]


@dataclass(slots=True, kw_only=True)
class Tally:
    """Of one sheet: rows read, rows right, and right rows left out because of what they name."""

    rows: int = 0
    right: int = 0
    waiting: int = 0


class Shelf:
    """Right rows of one sheet, kept aside in the order of the file."""

    def __init__(self) -> None:
        self._file = SpooledTemporaryFile(_IN_MEMORY)  # noqa: SIM115  closed by Findings.close
        self._runs = 0

    def keep(self, run: list[tuple[int, Row]]) -> None:
        pickle.dump(run, self._file, pickle.HIGHEST_PROTOCOL)
        self._runs += 1

    def rows(self) -> Iterator[tuple[int, Row]]:
        self._file.seek(0)
        for _ in range(self._runs):
            yield from pickle.load(self._file)

    def close(self) -> None:
        self._file.close()


@dataclass(slots=True, kw_only=True)
class Findings:
    """What a check found. `faults` holds the first ones, `fault_count` counts them all."""

    keys: Keys
    sheets: list[Sheet] = field(default_factory=list)
    shelves: dict[str, Shelf] = field(default_factory=dict)
    tallies: dict[str, Tally] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)
    fault_count: int = 0
    notes: list[str] = field(default_factory=list)
    changes: dict[str, list[Changed]] = field(default_factory=dict)

    def blame(self, fault: Fault) -> None:
        self.fault_count += 1
        if len(self.faults) < FAULTS_KEPT:
            self.faults.append(fault)

    def close(self) -> None:
        for shelf in self.shelves.values():
            shelf.close()
