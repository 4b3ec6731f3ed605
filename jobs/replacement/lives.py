"""Records of how long parts lasted: when each came under our eyes, when it left them, and how.

Ages in years, from dated wheels; which part a record is about, and whether its end was a failure
at all, is settled before it comes here.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from typing import Self

import numpy as np
from numpy.typing import NDArray

from jobs.replacement.likelihood import LogLikelihood
from jobs.replacement.weibull import Array


class Event(StrEnum):
    ALIVE = "alive"
    FAILED = "failed"
    FOUND_FAILED = "found_failed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Life:
    """One record: first seen at age `entry`, left at age `exit`, how it ended, when last good."""

    exit: float
    event: Event
    entry: float = 0.0
    last_good: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Lives:
    """Many records as arrays of one length, years.

    entry : age at which the part came under our eyes (0: from new); it cannot have failed before
    last_good : for a failure found at a visit, the age at which it was last known good
    exit : age at failure, at the visit that found it, or at which it was last seen alive
    failed, found : how it ended; neither means alive
    """

    entry: Array
    last_good: Array
    exit: Array
    failed: NDArray[np.bool_]
    found: NDArray[np.bool_]

    def __post_init__(self) -> None:
        if len({len(each) for each in (self.entry, self.last_good, self.exit)}) > 1:
            raise ValueError("the arrays of a family's records must be of one length")
        if np.any(self.entry < 0) or np.any(self.exit < self.entry):
            raise ValueError("a life leaves no earlier than it came in, and neither before age 0")
        if np.any(self.exit[self.failed | self.found] <= 0):
            raise ValueError("a part that failed was older than 0 years when it did")
        if np.any(self.found & (self.open_from >= self.exit)):
            raise ValueError("a failure found at a visit lies after the part was last known good")

    @classmethod
    def of(cls, lives: Iterable[Life]) -> Self:
        listed = list(lives)
        return cls(
            entry=np.array([life.entry for life in listed], dtype=np.float64),
            last_good=np.array([life.last_good for life in listed], dtype=np.float64),
            exit=np.array([life.exit for life in listed], dtype=np.float64),
            failed=np.array([life.event == Event.FAILED for life in listed], dtype=np.bool_),
            found=np.array([life.event == Event.FOUND_FAILED for life in listed], dtype=np.bool_),
        )

    def __len__(self) -> int:
        return len(self.exit)

    @property
    def open_from(self) -> Array:
        """Age from which a found failure may have happened: it was good when it came to us."""
        return np.maximum(self.entry, self.last_good)

    @property
    def failures(self) -> int:
        return int(np.count_nonzero(self.failed | self.found))

    def log_likelihood(self) -> LogLikelihood:
        return LogLikelihood(
            entry=self.entry,
            exit=self.exit,
            last_good=self.open_from,
            failed=self.failed,
            found=self.found,
        )


NO_LIVES = Lives.of([])
