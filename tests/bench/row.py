"""One measured row of the speed table: our time against a yardstick taken in the same run."""

import resource
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    work: str
    against: str
    ratio: float
    goal: float
    at_least: bool = False
    words: str = ""
    table: tuple[dict[str, Any], ...] = ()
    """The figures behind the row, where it sums up many."""

    @property
    def reached(self) -> bool:
        return self.ratio >= self.goal if self.at_least else self.ratio <= self.goal


def seconds(work: Callable[[], object], *, repeat: int = 3) -> float:
    """The best of a few runs: the others were disturbed."""
    best = float("inf")
    for _ in range(repeat):
        start = time.perf_counter()
        work()
        best = min(best, time.perf_counter() - start)
    return best


def peak_mb() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
