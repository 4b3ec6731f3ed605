"""Usage from a plain table of totals: pieces per part and period, and nothing else.

Where only totals are known, asks and their sizes are those that the negative binomial law of the
totals implies: Poisson asks of logarithmic sizes. Where single asks are known, use ``usage``.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from inventory.planning import checks
from inventory.planning.checks import FloatArray
from inventory.planning.demand import Demand, LogarithmicSizes

# The law of totals needs a variance above its mean, be it by a little.
LEAST_VARIANCE_RATIO = 1.02
LEAST_RATE_SHAPE = 0.3
# A part's variance ratio counts in the pool up to this many times the middle one.
FARTHEST_RATIO = 5.0
# Tuned on months 1-39 of the car-parts history, where stock at 95 % fill is flat around them: the
# share of the prior that counts, the power with which the variance ratio follows a changing level,
# how many pieces of evidence a remembered piece is worth, and beyond how many times a part's usual
# period a total says no more about how much will be used (nor beyond so many pieces, where a period
# has less than one).
PRIOR_SHARE = 0.25
LEVEL_POWER = 0.75
LEVEL_CHANGES = (0.1, 3.0)
PIECE_OF_EVIDENCE = 8.0
FARTHEST_TOTAL = 10.0


@dataclass(frozen=True, slots=True, kw_only=True)
class TotalsUsage:
    """What the totals of each part say, (n_parts,) arrays, and the figures behind it.

    ``pieces_per_period`` is the mean to expect, ``variance_ratio`` the variance of a period's total
    over its mean, ``rate_shape`` how sure the mean is (a gamma shape). ``remembered_pieces`` over
    ``remembered_periods`` is the part's own past; ``prior_pieces`` over ``prior_periods`` is what
    the other parts lend it.
    """

    pieces_per_period: FloatArray
    variance_ratio: FloatArray
    rate_shape: FloatArray
    remembered_pieces: FloatArray
    remembered_periods: FloatArray
    prior_pieces: float
    prior_periods: float

    @property
    def asks_per_period(self) -> FloatArray:
        """Poisson asks per period that the negative binomial totals imply."""
        ratio = self.variance_ratio
        return np.asarray(self.pieces_per_period * np.log(ratio) / (ratio - 1))

    def demand(self, *, period_days: float) -> Demand:
        return Demand.of(
            self.asks_per_period / period_days,
            LogarithmicSizes.of(1 - 1 / self.variance_ratio),
            rate_shape=self.rate_shape,
        )


def totals_usage(pieces: ArrayLike, *, half_life_periods: float) -> TotalsUsage:
    """The law of totals of every part, from a table with gaps.

    mean = (prior pieces + s) / (prior periods + e), s and e the pieces and periods remembered; a
    period counts half for every half-life it lies back, and ten times a part's mean at most: a
    single large total comes once. The prior is a quarter of what the moments
    of all rates say: pieces = f g**2 / v, periods = f g / v, with g their mean, v their variance
    beyond chance, f the pooled variance ratio. A part's own variance ratio over the whole table and
    the pooled one are averaged as logarithms with weights n / (n + 2h) and 2h / (n + 2h), n its
    periods, h the half-life; what exceeds 1 then follows the level, by the power 3/4 of mean now
    over mean then. The shape of the rate is eight times the pieces known over the ratio.

    Parameters
    ----------
    pieces : (n_parts, n_periods) float array, oldest period first; NaN is missing
    half_life_periods : above 0

    Returns
    -------
    TotalsUsage : (n_parts,) arrays

    Raises
    ------
    ValueError : a negative or infinite total, a half-life of 0 or less

    Source: Quenouille (1949) for the implied asks; discounting as West & Harrison (1997), section
    2.4; pooling as Clayton & Kaldor (1987). Weights tuned on months 1-39 of the car-parts history.

    >>> learned = totals_usage([[0, 2, 1, 0], [0, 0, 0, 0]], half_life_periods=12)
    >>> bool(learned.pieces_per_period[0] > learned.pieces_per_period[1] > 0)
    True
    """
    table = np.atleast_2d(np.asarray(pieces, dtype=np.float64))
    seen = ~np.isnan(table)
    totals = checks.not_negative(np.where(seen, table, 0.0), "pieces")
    if not half_life_periods > 0:
        raise ValueError(f"half-life must be above 0 periods; got {half_life_periods:g}")
    age = np.arange(table.shape[1] - 1, -1, -1)
    weight = 0.5 ** (age / half_life_periods)
    periods = seen.sum(axis=1)
    mean_then = totals.sum(axis=1) / np.maximum(periods, 1)
    usual = np.minimum(totals, FARTHEST_TOTAL * np.maximum(mean_then, 1.0)[:, None])
    remembered_pieces, remembered_periods = usual @ weight, seen @ weight
    pooled, ratio = variance_ratios(totals, seen, mean_then, 2 * half_life_periods)
    prior_pieces, prior_periods = prior_of_totals(
        remembered_pieces, remembered_periods, seen @ weight**2, pooled
    )
    known_pieces = prior_pieces + remembered_pieces
    mean_now = known_pieces / np.maximum(prior_periods + remembered_periods, 1e-9)
    ratio = ratio_at_level(ratio, mean_now, mean_then)
    return TotalsUsage(
        pieces_per_period=mean_now,
        variance_ratio=ratio,
        rate_shape=np.maximum(PIECE_OF_EVIDENCE * known_pieces / ratio, LEAST_RATE_SHAPE),
        remembered_pieces=remembered_pieces,
        remembered_periods=remembered_periods,
        prior_pieces=prior_pieces,
        prior_periods=prior_periods,
    )


def variance_ratios(
    totals: FloatArray, seen: NDArray[np.bool_], mean: FloatArray, periods_to_believe: float
) -> tuple[float, FloatArray]:
    """The pooled ratio of variance to mean, and each part's own leaning on it."""
    periods = seen.sum(axis=1)
    squares = (np.where(seen, totals - mean[:, None], 0.0) ** 2).sum(axis=1)
    known = (periods > 1) & (mean > 0)
    own = np.full(len(mean), LEAST_VARIANCE_RATIO)
    own[known] = np.maximum(squares[known] / (periods[known] - 1) / mean[known], own[known])
    if not known.any():
        return LEAST_VARIANCE_RATIO, own
    pooled = pooled_ratio(own[known], mean[known])
    lean = np.where(known, periods / (periods + periods_to_believe), 0.0)
    return pooled, np.exp(lean * np.log(own) + (1 - lean) * np.log(pooled))


def ratio_at_level(ratio: FloatArray, mean_now: FloatArray, mean_then: FloatArray) -> FloatArray:
    """The ratio when usage has risen or fallen since it was seen; as it was where none was seen."""
    known = mean_then > 0
    change = np.ones(len(ratio))
    change[known] = np.clip(mean_now[known] / mean_then[known], *LEVEL_CHANGES)
    return np.maximum(1 + (ratio - 1) * change**LEVEL_POWER, LEAST_VARIANCE_RATIO)


def pooled_ratio(own: FloatArray, mean: FloatArray) -> float:
    """The ratio that the parts share, weighed by usage.

    Neither the weight nor the ratio of a part counts without limit: one part that moves by the
    thousand must not say how the slow ones behave.
    """
    weight = np.minimum(mean, middle_of(mean))
    ratio = np.minimum(own, FARTHEST_RATIO * middle_of(own))
    return float((weight * ratio).sum() / weight.sum())


def middle_of(values: FloatArray) -> float:
    return float(np.sort(values)[(len(values) - 1) // 2])


def prior_of_totals(
    pieces: FloatArray, periods: FloatArray, square_periods: FloatArray, ratio: float
) -> tuple[float, float]:
    """Pieces and periods that stand for what the rates of all parts have in common."""
    whole = periods.sum()
    if pieces.sum() == 0:
        return 0.0, 0.0
    known = periods > 0
    mean = pieces.sum() / whole
    rate = pieces[known] / periods[known]
    between = (periods[known] * (rate - mean) ** 2).sum() / whole
    chance = ratio * mean * (square_periods[known] / periods[known]).sum() / whole
    beyond = max(between - chance, mean**2 / 50)
    periods_lent = PRIOR_SHARE * ratio * mean / beyond
    return float(periods_lent * mean), float(periods_lent)
