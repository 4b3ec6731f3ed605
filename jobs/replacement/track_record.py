"""Did it happen as often as we said: chances stated before the outcome, held against it.

Only advice given before its outcome was known counts; which that is, the caller knows.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy import stats

from jobs.replacement.weibull import Array

ENOUGH_OUTCOMES = 30
"""With fewer outcomes the answer is "not enough yet"."""

FIFTHS = (0.0, 0.2, 0.4, 0.6, 0.8, 1.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """Wheels to which a chance between two bounds was given.

    said : mean chance stated; happened : share that failed, None where there is no wheel
    low95, high95 : interval of that share; None where there is no wheel
    """

    from_chance: float
    to_chance: float
    wheels: int
    failed: int
    said: float | None
    happened: float | None
    low95: float | None
    high95: float | None


def track_record(
    chances: ArrayLike, failed: ArrayLike, *, bounds: Sequence[float] = FIFTHS
) -> list[Said]:
    """What was said and what happened, by how likely a failure was said to be.

    Parameters
    ----------
    chances : (n,) array of chances stated, 0 to 1
    failed : (n,) array, whether it then failed
    bounds : rising edges of the groups, from 0 to 1; a chance on an edge goes up, 1 to the last

    Returns
    -------
    list of Said, one a group

    Raises
    ------
    ValueError
        If the arrays differ in length or a chance is not one.

    Source: reliability table (Murphy & Winkler 1977; from memory); Wilson's interval as scipy
    has it.

    >>> [group.happened for group in track_record([0.1, 0.1, 0.9], [False, True, True])]
    [0.5, None, None, None, 1.0]
    """
    said, came = np.asarray(chances, dtype=np.float64), np.asarray(failed, dtype=np.bool_)
    if said.shape != came.shape:
        raise ValueError(f"{said.size} chances stated cannot be held against {came.size} outcomes")
    if np.any((said < 0) | (said > 1)):
        raise ValueError("a chance lies between 0 and 1")
    group = np.clip(np.searchsorted(bounds, said, side="right") - 1, 0, len(bounds) - 2)
    members = [group == place for place in range(len(bounds) - 1)]
    return [
        _said(low, high, said[among], int(came[among].sum()))
        for low, high, among in zip(bounds, bounds[1:], members, strict=False)
    ]


def _said(low: float, high: float, chances: Array, failed: int) -> Said:
    wheels = len(chances)
    if not wheels:
        nothing = {"said": None, "happened": None, "low95": None, "high95": None}
        return Said(from_chance=low, to_chance=high, wheels=0, failed=0, **nothing)
    interval = stats.binomtest(failed, wheels).proportion_ci(method="wilson")
    return Said(
        from_chance=low,
        to_chance=high,
        wheels=wheels,
        failed=failed,
        said=float(chances.mean()),
        happened=failed / wheels,
        low95=float(interval.low),
        high95=float(interval.high),
    )
