"""The likelihood of a family's records over a whole grid of laws at once.

(t/η)^β = t^β·η^−β: the ages are summed once per shape and then cost nothing per scale, so ten
thousand records cost little more than a hundred. Only a failure found at a visit does not split
so, and those are gathered by size before the grid is evaluated.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from jobs.replacement.weibull import Array

_GATHERED_FROM = 400
"""Found failures beyond this number are gathered into so many sizes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LogLikelihood:
    """Records of one family, ready to be held against laws. Arrays of one length, years."""

    entry: Array
    exit: Array
    last_good: Array
    failed: NDArray[np.bool_]
    found: NDArray[np.bool_]

    def at(self, log_scale: Array, log_shape: Array) -> Array:
        """Log likelihood for each pair of a log scale and a log shape.

        Alive: −(H(exit) − H(entry)). Failed at an age: that plus log h(exit). Found failed:
        −(H(last good) − H(entry)) + log(1 − exp(−(H(exit) − H(last good)))), H = (t/η)^β.

        Parameters
        ----------
        log_scale : (n,) array; log_shape : (m,) array

        Returns
        -------
        (n, m) array
        """
        columns = [self._column(log_scale, float(shape)) for shape in np.exp(log_shape)]
        return np.stack(columns, axis=1)

    def _column(self, log_scale: Array, shape: float) -> Array:
        """The likelihood along all scales for one shape."""
        # Powers are taken of ages over the longest one, so that no shape overflows.
        longest = float(self.exit.max()) if len(self.exit) else 1.0
        unit = np.exp(np.minimum(-shape * (log_scale - np.log(longest)), 600.0))
        end = np.where(self.found, self.last_good, self.exit) / longest
        lived = np.sum(end**shape) - np.sum((self.entry / longest) ** shape)
        total: Array = -unit * lived
        deaths = self.exit[self.failed]
        total += len(deaths) * (np.log(shape) - shape * log_scale)
        total += (shape - 1) * np.sum(np.log(deaths))
        if np.any(self.found):
            total += self._found(unit, shape, longest)
        return total

    def _found(self, unit: Array, shape: float, longest: float) -> Array:
        later = (self.exit[self.found] / longest) ** shape
        earlier = (self.last_good[self.found] / longest) ** shape
        # A gap too narrow for a float still has to have a size.
        sizes = np.log(np.maximum(later - earlier, 1e-300))
        sizes, counts = _gathered(sizes)
        hazard = np.exp(np.log(unit)[:, None] + sizes[None, :])
        summed: Array = np.log(-np.expm1(-hazard) + 1e-300) @ counts
        return summed


def _gathered(sizes: Array) -> tuple[Array, Array]:
    """Many log sizes as few, evenly spaced, with counts that keep sums of smooth functions.

    Each record is shared among its four neighbours by the cubic Lagrange weights: the error of a
    sum is of the fourth order in the spacing.
    """
    if len(sizes) <= _GATHERED_FROM:
        return sizes, np.ones(len(sizes))
    low, high = float(sizes.min()), float(sizes.max())
    step = max((high - low) / (_GATHERED_FROM - 4), 1e-9)
    place = (sizes - low) / step + 1.0
    left = np.floor(place).astype(np.intp)
    x = place - left
    counts: Array = np.zeros(_GATHERED_FROM)
    for offset, share in (
        (-1, -x * (x - 1) * (x - 2) / 6),
        (0, (x + 1) * (x - 1) * (x - 2) / 2),
        (1, -(x + 1) * x * (x - 2) / 2),
        (2, (x + 1) * x * (x - 1) / 6),
    ):
        counts += np.bincount(left + offset, weights=share, minlength=_GATHERED_FROM)
    places: Array = np.linspace(low - step, low + step * (_GATHERED_FROM - 2), _GATHERED_FROM)
    return places, counts
