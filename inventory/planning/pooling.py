"""Streams of asks that meet on one shelf: the law of what is asked of it in all.

Not how a stream is learned (``usage``) nor what is sent on from another shelf (``overflow``).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from inventory.planning import checks
from inventory.planning.checks import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Streams:
    """Independent streams of asks, one a row.

    Parameters
    ----------
    asks_per_day : (n,) float array, mean rate of asks
    rate_variance : (n,) float array, of the rate; 0 is a known rate
    sizes : (n, n_sizes) float array, chance that an ask is for so many pieces, from 0 on
    """

    asks_per_day: FloatArray
    rate_variance: FloatArray
    sizes: FloatArray

    @property
    def rate_shape(self) -> FloatArray:
        """The gamma shape with this mean and variance; infinity for a known rate."""
        known = self.rate_variance <= 0
        shape = self.asks_per_day**2 / np.where(known, 1.0, self.rate_variance)
        return np.asarray(np.where(known | (self.asks_per_day <= 0), np.inf, shape))


def pooled(streams: Streams, shelf: ArrayLike, *, shelves: int) -> Streams:
    """What is asked of each shelf when several streams meet on it.

    Rates and their variances add up; a size is as likely as among all asks of the shelf:
    P(S = x) = sum_i a_i P(S_i = x) / sum_i a_i. The sum of rates with gamma laws is no gamma law,
    but has this mean and variance.

    Parameters
    ----------
    streams : n independent streams
    shelf : (n,) int array, the shelf that each stream is asked of
    shelves : how many shelves there are; one without a stream is asked for nothing

    Returns
    -------
    Streams : a row a shelf

    Raises
    ------
    ValueError : a shelf that is not there

    Source: sums of independent compound Poisson streams (Kingman 1993, Poisson Processes, sections
    2.2 and 5.1); the gamma law by its first two moments is our own approximation.

    >>> two = Streams(
    ...     asks_per_day=np.array([3.0, 1.0]),
    ...     rate_variance=np.zeros(2),
    ...     sizes=np.array([[0, 1.0, 0], [0, 0, 1.0]]),
    ... )
    >>> pooled(two, [0, 0], shelves=1).sizes
    array([[0.  , 0.75, 0.25]])
    """
    row = checks.counts(shelf, "shelf", least=0)
    if row.max(initial=-1) >= shelves:
        raise ValueError(f"each stream needs one of {shelves} shelves; got {row.max()}")
    rate, variance = (
        np.bincount(row, weights=each, minlength=shelves).astype(np.float64)
        for each in (streams.asks_per_day, streams.rate_variance)
    )
    sizes = np.zeros((shelves, streams.sizes.shape[1]))
    np.add.at(sizes, row, streams.sizes * streams.asks_per_day[:, None])
    # A shelf that nobody asks is asked for one piece at a time.
    alone = np.zeros(streams.sizes.shape[1])
    alone[1] = 1.0
    asked = (rate > 0)[:, None]
    return Streams(
        asks_per_day=rate,
        rate_variance=variance,
        sizes=np.where(asked, sizes / np.where(asked, rate[:, None], 1.0), alone),
    )
