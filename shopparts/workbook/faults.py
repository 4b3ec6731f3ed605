"""What is wrong with a workbook, in sentences that say which sheet, row and column."""

from dataclasses import dataclass
from typing import Any

_SHOWN = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """What is wrong with a cell, a row, a sheet, or, without any place, the file.

    said : what the cell holds
    expected : why that cannot be and what to do
    place : the column counted from 0, where one is meant
    """

    sheet: str
    row: int | None = None
    column: str = ""
    said: str = ""
    expected: str
    place: int | None = None

    def __str__(self) -> str:
        places = [f"Sheet “{self.sheet}”"] if self.sheet else []
        places += [f"row {self.row}"] if self.row else []
        places += [f"column “{self.column}”"] if self.column else []
        return f"{', '.join(places)}: {self.expected}." if places else f"{self.expected}."


class UnreadableError(Exception):
    """A cell, or a whole file, that cannot be read; says why and what to do, without a full stop.

    The place is added by who knows it.
    """


def quoted(said: Any) -> str:
    text = str(said)
    return f"“{text if len(text) <= _SHOWN else text[: _SHOWN - 1] + '…'}”"


def as_clause(sentence: str) -> str:
    """A rule's own sentence, to stand behind the place: “A sensor body …” → “a sensor body …”."""
    bare = sentence.rstrip().removesuffix(".")
    return bare[:1].lower() + bare[1:] if bare[1:2].islower() or bare[1:2] == " " else bare
