"""How often each part is asked for, learned from the asks of the past.

Asks of a part come by chance at a rate; the rate has a gamma law, first that of its group, then
sharpened by what was seen while the part could be had. Old weeks are forgotten by degrees, seasons
and sizes are pooled by kind of part. From asks, not from totals: a plain table of totals is
``totals``.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from inventory.planning import checks
from inventory.planning.checks import FloatArray, IntArray

# A group's rates are never taken to be more alike, or more unlike, than these gamma shapes say.
LEAST_SHAPE, MOST_SHAPE = 0.05, 50.0


@dataclass(frozen=True, slots=True, kw_only=True)
class RateLaw:
    """Gamma laws of rates: mean = shape / exposure, in asks per day of exposure."""

    shape: FloatArray
    exposure_days: FloatArray

    @property
    def mean_rate(self) -> FloatArray:
        return self.shape / self.exposure_days


@dataclass(frozen=True, slots=True, kw_only=True)
class Prediction:
    """Asks over a horizon when the rate is known by its gamma law: negative binomial."""

    mean: FloatArray
    variance: FloatArray
    chance_of_none: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Usage:
    """What was learned, part by part, and the figures it was learned from.

    ``occasions`` and ``exposure_days`` are what is remembered of the past; ``prior`` is the group's
    law that stood before it.
    """

    prior: RateLaw
    occasions: FloatArray
    exposure_days: FloatArray
    rate: RateLaw


def rate_posterior(prior: RateLaw, *, occasions: ArrayLike, exposure_days: ArrayLike) -> RateLaw:
    """The law of the rate after seeing asks while the part could be had.

    shape + occasions, exposure + exposure days.

    Parameters
    ----------
    prior : the law before, (n_parts,)
    occasions : (n_parts,) asks seen, may be fractions once old weeks are forgotten
    exposure_days : (n_parts,) days in which they could be seen

    Returns
    -------
    RateLaw : (n_parts,)

    Raises
    ------
    ValueError : negative asks or days

    Source: Gelman et al. (2013), Bayesian Data Analysis, 3rd ed., section 2.6.

    >>> before = RateLaw(shape=np.array([0.8]), exposure_days=np.array([4.0]))
    >>> rate_posterior(before, occasions=[3], exposure_days=[6]).mean_rate
    array([0.38])
    """
    seen = checks.not_negative(occasions, "occasions")
    days = checks.not_negative(exposure_days, "exposure days")
    return RateLaw(shape=prior.shape + seen, exposure_days=prior.exposure_days + days)


def prediction(rate: RateLaw, horizon_days: ArrayLike) -> Prediction:
    """Asks to come within a horizon.

    Negative binomial: mean = s h / e, variance = mean (1 + h / e), chance of none =
    (e / (e + h))**s, with s the shape, e the exposure, h the horizon.

    Parameters
    ----------
    rate : laws of the rates, (n_parts,)
    horizon_days : (n_parts,) or one, days

    Returns
    -------
    Prediction : (n_parts,) arrays

    Raises
    ------
    ValueError : a negative horizon

    Source: Gelman et al. (2013), section 2.6; scipy.stats.nbinom gives the same.

    >>> rate = RateLaw(shape=np.array([3.8]), exposure_days=np.array([10.0]))
    >>> prediction(rate, 2.0).mean
    array([0.76])
    """
    horizon = checks.not_negative(horizon_days, "horizon")
    mean = rate.mean_rate * horizon
    return Prediction(
        mean=mean,
        variance=mean * (1 + horizon / rate.exposure_days),
        chance_of_none=(1 + horizon / rate.exposure_days) ** -rate.shape,
    )


def remembered(weeks: ArrayLike, *, half_life_weeks: float) -> FloatArray:
    """Sums over weeks in which a week counts half as much for every half-life it lies back.

    sum_t x_t 2**(-(T - t) / h), T the last week.

    Parameters
    ----------
    weeks : (n_parts, n_weeks) array, oldest first
    half_life_weeks : h, above 0; infinity forgets nothing

    Returns
    -------
    (n_parts,) float array

    Raises
    ------
    ValueError : a half-life of 0 or less

    Source: West & Harrison (1997), Bayesian Forecasting and Dynamic Models, section 2.4
    (discounting).

    >>> remembered([[4, 2, 1]], half_life_weeks=1)
    array([3.])
    """
    table = np.atleast_2d(np.asarray(weeks))
    if not half_life_weeks > 0:
        raise ValueError(f"half-life must be above 0 weeks; got {half_life_weeks:g}")
    age = np.arange(table.shape[1] - 1, -1, -1)
    return np.asarray(table @ (0.5 ** (age / half_life_weeks)).astype(np.float64))


def group_prior(occasions: FloatArray, exposure_days: FloatArray, group: IntArray) -> RateLaw:
    """The law of rates within each group, one entry a part.

    Moments: m = sum x / sum e; between-part variance v = sum((x - m e)**2 - m e) / sum e**2;
    shape = m**2 / v, exposure = m / v. Half an ask is added to the group's, so that a group without
    an ask still has a small rate.

    Source: Robbins (1956); moments as in Clayton & Kaldor (1987), Empirical Bayes estimates,
    Biometrics 43.
    """
    n_groups = int(group.max(initial=-1)) + 1

    def per_group(values: FloatArray) -> FloatArray:
        return np.asarray(np.bincount(group, weights=values, minlength=n_groups), np.float64)

    days = np.maximum(per_group(exposure_days), 1.0)
    rate = (per_group(occasions) + 0.5) / days
    expected = rate[group] * exposure_days
    excess = per_group((occasions - expected) ** 2 - expected)
    between = excess / np.maximum(per_group(exposure_days**2), 1.0)
    shape = rate**2 / np.maximum(between, rate**2 / MOST_SHAPE)
    shape = np.clip(shape, LEAST_SHAPE, MOST_SHAPE)
    return RateLaw(shape=shape[group], exposure_days=(shape / rate)[group])


def prior_from_expected(expected: ArrayLike, variance: ArrayLike, *, days: ArrayLike) -> RateLaw:
    """The law of the rate that an expected number of asks, and its variance, stand for.

    Of the variance v only what exceeds the chance of Poisson asks is doubt about the rate:
    shape = m**2 / (v - m), exposure = shape · days / m.

    Parameters
    ----------
    expected, variance : (n_parts,) asks within the days
    days : (n_parts,) or one

    Returns
    -------
    RateLaw : (n_parts,)

    Raises
    ------
    ValueError : an expected number of 0, days of 0, a negative variance

    Source: moments of the negative binomial law.

    >>> law = prior_from_expected([2.0], [4.0], days=7)
    >>> law.shape, law.exposure_days
    (array([2.]), array([7.]))
    """
    mean = checks.positive(expected, "expected asks")
    spread = checks.not_negative(variance, "variance of expected asks")
    doubt = np.maximum(spread - mean, mean**2 / MOST_SHAPE)
    shape = np.maximum(mean**2 / doubt, LEAST_SHAPE)
    return RateLaw(shape=shape, exposure_days=shape * checks.positive(days, "days") / mean)


def usage(
    occasions: ArrayLike,
    exposure_days: ArrayLike,
    *,
    group: ArrayLike,
    season: ArrayLike | None = None,
    half_life_weeks: float = 52.0,
    prior: RateLaw | None = None,
) -> Usage:
    """Rates of asks of all parts, from weeks in which they could be had.

    Exposure of a week is the days on which the part was there at opening, plus, where lost asks
    are written down, all others; asks on other days are left out of both (a stock-out must not
    look like no demand). The exposure is weighed by the season, so that the rate is that of an
    average week.

    Parameters
    ----------
    occasions : (n_parts, n_weeks) asks on exposed days, oldest week first
    exposure_days : (n_parts, n_weeks), or (n_weeks,) when all parts share it, days
    group : (n_parts,) int array from 0, parts that resemble each other
    season : (n_kinds_or_1, n_weeks) weight of each week, 1 on average; absent: no seasons
    half_life_weeks : a week counts half as much for every half-life it lies back
    prior : laws to use in place of the group's, (n_parts,)

    Returns
    -------
    Usage : (n_parts,) arrays

    Raises
    ------
    ValueError : shapes that do not fit, a group below 0, a half-life of 0

    Source: gamma–Poisson with discounting, West & Harrison (1997), section 2.4; group law by
    moments, see ``group_prior``.

    >>> learned = usage([[1, 0, 2], [0, 0, 0]], [7, 7, 7], group=[0, 0])
    >>> bool(learned.rate.mean_rate[0] > learned.rate.mean_rate[1] > 0)
    True
    """
    asks = np.atleast_2d(np.asarray(occasions))
    kind = checks.counts(group, "group", least=0)
    if kind.shape != asks.shape[:1]:
        raise ValueError(f"{asks.shape[0]} parts need as many groups; got {kind.shape[0]}")
    days = checks.not_negative(exposure_days, "exposure days")
    if season is not None:
        days = days * checks.not_negative(season, "season")
    seen = remembered(asks, half_life_weeks=half_life_weeks)
    exposed = np.broadcast_to(remembered(days, half_life_weeks=half_life_weeks), seen.shape)
    before = group_prior(seen, exposed, kind) if prior is None else prior
    return Usage(
        prior=before,
        occasions=seen,
        exposure_days=exposed,
        rate=rate_posterior(before, occasions=seen, exposure_days=exposed),
    )


def season_weights(
    occasions: ArrayLike,
    exposure_days: ArrayLike,
    *,
    week_of_year: ArrayLike,
    n_weeks_of_year: int = 52,
    asks_to_believe: float = 20.0,
) -> FloatArray:
    """How much busier each week of the year is than the average week, by kind of part.

    w_k = (asks in week k and its neighbours + c) / (asks expected there at the kind's mean rate +
    c), scaled to a mean of 1; weeks count 1/4, 1/2, 1/4 with their neighbours.

    Parameters
    ----------
    occasions : (n_kinds, n_weeks) asks of a kind
    exposure_days : (n_kinds, n_weeks) days in which they could be seen
    week_of_year : (n_weeks,) int array from 0
    n_weeks_of_year : weeks in the year (52), or any other number of seasons
    asks_to_believe : c, asks in a season before its own figure outweighs "no season"

    Returns
    -------
    (n_kinds, n_weeks_of_year) float array, mean 1 in each row

    Raises
    ------
    ValueError : negative asks, a week of the year outside its range

    Source: ratio to the mean, shrunk as a gamma–Poisson rate.

    >>> season_weights([[0] * 52], [[7] * 52], week_of_year=range(52)).max()
    np.float64(1.0)
    """
    asks = np.atleast_2d(checks.not_negative(occasions, "occasions"))
    days = np.atleast_2d(checks.not_negative(exposure_days, "exposure days"))
    season = checks.counts(list(np.asarray(week_of_year)), "week of the year", least=0)
    if season.max(initial=0) >= n_weeks_of_year:
        raise ValueError(f"week of the year must be below {n_weeks_of_year}; got {season.max()}")
    member = np.eye(n_weeks_of_year)[season]
    blend = np.eye(n_weeks_of_year) / 2
    blend += np.roll(np.eye(n_weeks_of_year), 1, axis=0) / 4
    blend += np.roll(np.eye(n_weeks_of_year), -1, axis=0) / 4
    rate = asks.sum(axis=1) / np.maximum(days.sum(axis=1), 1e-300)
    seen, expected = asks @ member @ blend, rate[:, None] * (days @ member @ blend)
    weight = (seen + asks_to_believe) / (expected + asks_to_believe)
    return np.asarray(weight / weight.mean(axis=1, keepdims=True))


def size_chances(
    asks_by_size: ArrayLike, *, kind: ArrayLike, asks_to_believe: float = 8.0
) -> FloatArray:
    """Chances of the size of an ask, part by part, leaning on the kind's.

    p = (asks of that size + c · kind's share) / (asks + c). The kind's own share starts from half
    an ask of size 1, so that a kind without asks is taken to ask for one piece.

    Parameters
    ----------
    asks_by_size : (n_parts, n_sizes) asks of size 0, 1, 2 …; size 0 has none
    kind : (n_parts,) int array from 0
    asks_to_believe : c, asks before a part's own sizes outweigh its kind's

    Returns
    -------
    (n_parts, n_sizes) float array, rows sum to 1

    Raises
    ------
    ValueError : negative numbers, an ask for no piece

    Source: Dirichlet–multinomial smoothing, Gelman et al. (2013), section 3.4.

    >>> size_chances([[0, 0, 0, 0, 8], [0, 0, 0, 0, 0]], kind=[0, 1], asks_to_believe=8).round(3)
    array([[0.   , 0.029, 0.   , 0.   , 0.971],
           [0.   , 1.   , 0.   , 0.   , 0.   ]])
    """
    asks = np.atleast_2d(checks.not_negative(asks_by_size, "asks by size"))
    if asks[:, 0].any():
        raise ValueError("an ask is for at least one piece; size 0 must have no asks")
    member = checks.counts(kind, "kind", least=0)
    pooled = np.zeros((int(member.max(initial=-1)) + 1, asks.shape[1]))
    np.add.at(pooled, member, asks)
    pooled[:, 1] += 0.5
    pooled /= pooled.sum(axis=1, keepdims=True)
    own = asks.sum(axis=1, keepdims=True)
    return np.asarray((asks + asks_to_believe * pooled[member]) / (own + asks_to_believe))
