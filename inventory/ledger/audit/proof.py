"""What the audit found, and what one walk through the movements brought together."""

from collections import defaultdict
from dataclasses import dataclass, field

AT_A_TIME = 5_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """What is wrong with which record."""

    record: str
    words: str

    def __str__(self) -> str:
        return f"{self.record}: {self.words}"


@dataclass(frozen=True, slots=True)
class Step:
    """A movement as the audit reads it."""

    pk: int
    posting: int
    name: str
    kind: str
    lot: int
    shelf: tuple[int, int]
    pieces: int
    cents: int
    of: int | None


@dataclass(slots=True)
class Balance:
    """What the movements say of one lot."""

    pieces: int = 0
    cents: int = 0
    pieces_received: int | None = None
    cents_received: int = 0


@dataclass(slots=True)
class Proof:
    """Everything that one walk through the movements, in order of recording, brings together."""

    faults: list[Fault] = field(default_factory=list)
    lots: dict[int, Balance] = field(default_factory=lambda: defaultdict(Balance))
    steps: dict[int, Step] = field(default_factory=dict)
    lot_shelf: dict[int, tuple[int, int]] = field(default_factory=dict)
    answered: dict[int, int] = field(default_factory=lambda: defaultdict(int))
    posted: dict[int, list[Step]] = field(default_factory=lambda: defaultdict(list))

    def blame(self, record: str, words: str) -> None:
        self.faults.append(Fault(record=record, words=words))
