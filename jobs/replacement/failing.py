"""How many of the pieces now in use fail in the weeks to come, by group. Pure.

What a failure leads to (a visit, an ask for a part) is not this module's business.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.sparse import csr_array

from jobs.replacement.posterior import Draws
from jobs.replacement.weibull import Array, cumulative_hazard

WEEKS_A_YEAR = 365.25 / 7
PIECES_AT_A_TIME = 500

Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True)
class InUse:
    """Pieces in use, arrays of one length.

    age_good : age at which it was last known good, years
    age_now : its age today, years, at least that
    law : which of the laws it follows
    """

    age_good: Array
    age_now: Array
    law: Ints

    @classmethod
    def of(cls, age_good: ArrayLike, age_now: ArrayLike, law: ArrayLike) -> "InUse":
        found = cls(
            age_good=np.asarray(age_good, dtype=np.float64),
            age_now=np.asarray(age_now, dtype=np.float64),
            law=np.asarray(law, dtype=np.int64),
        )
        if np.any(found.age_good < 0) or np.any(found.age_now < found.age_good):
            raise ValueError("a piece was last seen good at age 0 or later, and is not younger now")
        return found


def failures_between(
    pieces: InUse, laws: Sequence[Draws], *, group: ArrayLike, groups: int, weeks: ArrayLike
) -> Array:
    """Expected failures between one week from now and the next one given, by group and draw.

    Chance from v to w = exp(H(g) − H(a + v)) − exp(H(g) − H(a + w)), with g the age when last
    good, a the age today and H the cumulative hazard: it may have failed since it was last seen.

    Parameters
    ----------
    pieces : n pieces
    laws : equally likely laws of each family, all of one number of draws
    group : (n,) int array from 0, what to add up by
    groups : number of groups
    weeks : (n_weeks + 1,) weeks from now, rising: 0, 1, 2 … for every week to come

    Returns
    -------
    (groups, n_weeks, n_draws) float array

    Source: conditional survival of the Weibull law; NIST/SEMATECH e-Handbook 8.1.6.2.

    >>> sure = Draws(log_scale=np.log([8.0]), log_shape=np.log([1.0]))
    >>> one = InUse.of([3.0], [3.0], [0])  # shape 1: a constant hazard of 1/8 a year
    >>> failures_between(one, [sure], group=[0], groups=1, weeks=[0, 52]).sum().round(4)
    np.float64(0.1171)
    """
    belongs, ahead = np.asarray(group, dtype=np.int64), np.asarray(weeks) / WEEKS_A_YEAR
    log_scale = np.array([law.log_scale for law in laws])
    log_shape = np.array([law.log_shape for law in laws])
    draws = log_scale.shape[1] if len(laws) else 1
    found = np.zeros((groups, (len(ahead) - 1) * draws))
    for start in range(0, len(pieces.law), PIECES_AT_A_TIME):
        some = slice(start, start + PIECES_AT_A_TIME)
        law = {
            "log_scale": log_scale[pieces.law[some], None, :],
            "log_shape": log_shape[pieces.law[some], None, :],
        }
        good = cumulative_hazard(pieces.age_good[some, None, None], **law)
        later = cumulative_hazard((pieces.age_now[some, None] + ahead)[:, :, None], **law)
        alive = np.exp(good - later)
        failed = (alive[:, :-1] - alive[:, 1:]).reshape(len(alive), -1)
        place = belongs[some], np.arange(len(alive))
        found += csr_array((np.ones(len(alive)), place), shape=(groups, len(alive))) @ failed
    return found.reshape(groups, len(ahead) - 1, draws)
