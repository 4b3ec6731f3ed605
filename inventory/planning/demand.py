"""The law of demand: asks that come by chance, each for one piece or several.

Asks come at a rate that is itself known only roughly (gamma), so their number over t days is
negative binomial, or Poisson when the rate is known. This module knows the laws and inverts them;
what they mean for a shelf is ``policy``, how they are learned from the past is ``usage``.
"""

from dataclasses import dataclass
from typing import Protocol, Self

import numpy as np
from numpy.typing import ArrayLike

from inventory.planning import checks
from inventory.planning.checks import ComplexArray, FloatArray, IntArray
from inventory.planning.interval import Interval

# An inversion of length N on a circle of radius r errs by r**N of the tail beyond N and by the
# rounding error divided by r**N: 1e-8 keeps both below 1e-8.
DAMPING = 1e-8
NODE_COUNTS = (1, 4, 8, 16, 32, 64, 128, 256)


class Sizes(Protocol):
    """How many pieces one ask is for."""

    @property
    def mean(self) -> FloatArray: ...

    @property
    def mean_square(self) -> FloatArray: ...

    def transform(self, z: ComplexArray, rows: IntArray) -> ComplexArray:
        """E[z**size] for the parts in rows, (len(rows), len(z))."""

    def cumulative(self, longest: int) -> FloatArray:
        """P(size <= x) for x from 0 to longest, (n_parts, longest + 1)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TableSizes:
    """Sizes with a table of chances, one table for many parts.

    Parameters
    ----------
    pmf : (n_tables, n_sizes) float array, chance of a size from 0 on; each row sums to 1
    table : (n_parts,) int array, which table a part uses
    """

    pmf: FloatArray
    table: IntArray

    @classmethod
    def of(cls, pmf_from_0: ArrayLike, table: ArrayLike | None = None) -> Self:
        """Sizes from checked tables; without a table number each part has its own.

        >>> TableSizes.of([0, 0.5, 0, 0, 0.5]).mean
        array([2.5])
        """
        pmf = np.atleast_2d(checks.chances(pmf_from_0, "chances of the sizes"))
        if (pmf[:, 0] > 0).any():
            raise ValueError("an ask is for at least one piece; the chance of size 0 must be 0")
        row = np.arange(len(pmf)) if table is None else checks.counts(table, "table", least=0)
        return cls(pmf=pmf, table=row)

    @property
    def mean(self) -> FloatArray:
        return np.asarray((self.pmf @ np.arange(self.pmf.shape[1]))[self.table])

    @property
    def mean_square(self) -> FloatArray:
        return np.asarray((self.pmf @ np.arange(self.pmf.shape[1]) ** 2.0)[self.table])

    def transform(self, z: ComplexArray, rows: IntArray) -> ComplexArray:
        powers = z ** np.arange(self.pmf.shape[1])[:, None]
        return np.asarray(self.pmf[self.table[rows]] @ powers)

    def cumulative(self, longest: int) -> FloatArray:
        padding = max(0, longest + 1 - self.pmf.shape[1])
        table = np.pad(self.pmf, ((0, 0), (0, padding))).cumsum(axis=1)[:, : longest + 1]
        return np.asarray(table[self.table])


@dataclass(frozen=True, slots=True, kw_only=True)
class LogarithmicSizes:
    """The sizes that negative binomial totals imply: P(size = x) = -p**x / (x ln(1 - p)).

    Source: Quenouille (1949), A relation between the logarithmic, Poisson and negative binomial
    series, Biometrics 5.

    Parameters
    ----------
    p : (n_parts,) float array, from 0 (always one piece) to below 1
    """

    p: FloatArray

    @classmethod
    def of(cls, p: ArrayLike) -> Self:
        """Checked logarithmic sizes.

        >>> LogarithmicSizes.of([0.0, 0.5]).mean.round(4)
        array([1.    , 1.4427])
        """
        array = np.atleast_1d(checks.not_negative(p, "p of the logarithmic sizes"))
        if (array >= 1).any():
            raise ValueError(
                f"p of the logarithmic sizes must be below 1; got {checks.first(array, array >= 1)}"
            )
        # Below this, -p / ln(1 - p) loses its digits and no size but 1 can be seen anyway.
        return cls(p=np.maximum(array, 1e-12))

    @property
    def mean(self) -> FloatArray:
        return np.asarray(-self.p / ((1 - self.p) * np.log1p(-self.p)))

    @property
    def mean_square(self) -> FloatArray:
        return np.asarray(self.mean / (1 - self.p))

    def transform(self, z: ComplexArray, rows: IntArray) -> ComplexArray:
        p = self.p[rows][:, None]
        return np.asarray(np.log1p(-p * z) / np.log1p(-p))

    def cumulative(self, longest: int) -> FloatArray:
        x = np.arange(1, longest + 1)
        log_pmf = x * np.log(self.p)[:, None] - np.log(x) - np.log(-np.log1p(-self.p))[:, None]
        return np.pad(np.exp(log_pmf).cumsum(axis=1), ((0, 0), (1, 0)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Demand:
    """How often each part is asked for, how sure we are of it, and for how many pieces.

    Parameters
    ----------
    asks_per_day : (n_parts,) float array, mean rate of asks
    rate_shape : (n_parts,) float array, gamma shape of the rate; infinity is a known rate
    sizes : the law of the size of one ask
    """

    asks_per_day: FloatArray
    rate_shape: FloatArray
    sizes: Sizes

    @classmethod
    def of(cls, asks_per_day: ArrayLike, sizes: Sizes, *, rate_shape: ArrayLike = np.inf) -> Self:
        """Checked demand; without a shape the rate is known.

        >>> demand = Demand.of([2.0], TableSizes.of([0, 0, 1.0]))
        >>> demand.pieces_per_day
        array([4.])
        """
        rate = np.atleast_1d(checks.not_negative(asks_per_day, "asks per day"))
        shape = np.broadcast_to(checks.positive(rate_shape, "shape of the rate"), rate.shape)
        if len(sizes.mean) != len(rate):
            raise ValueError(f"sizes are for {len(sizes.mean)} parts, rates for {len(rate)}")
        return cls(asks_per_day=rate, rate_shape=shape, sizes=sizes)

    @property
    def pieces_per_day(self) -> FloatArray:
        return np.asarray(self.asks_per_day * self.sizes.mean)


@dataclass(frozen=True, slots=True, kw_only=True)
class DemandLaw:
    """Demand over an interval, in pieces: chances from 0 on, and the moments of the whole law."""

    pmf_from_0: FloatArray
    mean: FloatArray
    variance: FloatArray


def demand_moments(
    demand: Demand, mean_days: FloatArray, variance_days: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Mean and variance of demand over a random interval, pieces."""
    mean = demand.pieces_per_day * mean_days
    square_days = variance_days + mean_days**2
    expected_asks = demand.asks_per_day * mean_days
    spread = demand.asks_per_day**2 * (variance_days + square_days / demand.rate_shape)
    variance = expected_asks * demand.sizes.mean_square + demand.sizes.mean**2 * spread
    return mean, variance


def interval_demand(
    demand: Demand, interval: Interval, *, points: int, law: ArrayLike | None = None
) -> DemandLaw:
    """The law of demand over the interval.

    E[z**D] = E_T[(1 + a T (1 - phi(z)) / s)**(-s)], a the rate, s its shape, phi the transform of
    the sizes and T the interval; exp(-a T (1 - phi(z))) for a known rate.

    Parameters
    ----------
    demand : demand of n_parts parts
    interval : the interval laws
    points : number of chances wanted, from 0 pieces on
    law : (n_parts,) int array, which interval law a part uses; law 0 when absent

    Returns
    -------
    DemandLaw : (n_parts, points) chances, (n_parts,) means and variances, pieces

    Source: Zipkin (2000), Foundations of Inventory Management, chapter 7; inversion on a circle of
    radius below 1 as in Embrechts & Frei (2009), Panjer recursion versus FFT.

    >>> asks = Demand.of([2.0], TableSizes.of([0, 1.0]))
    >>> interval_demand(asks, Interval.of([1.0]), points=3).pmf_from_0.round(6)
    array([[0.135335, 0.270671, 0.270671]])
    """
    if points < 1:
        raise ValueError(f"points must be at least 1; got {points}")
    row = interval_rows(law, demand, interval)
    mean, variance = demand_moments(demand, interval.mean_days[row], interval.variance_days[row])
    # Four times the length leaves the points wanted far from the fold of the circle.
    length = 1 << (4 * max(points, 16) - 1).bit_length()
    rows = np.arange(len(row))
    days, weight = interval.nodes(enough_nodes(demand.asks_per_day * interval.spread_days[row]))
    z, radius = damped_circle(length)
    odds = 1 - demand.sizes.transform(z, rows)
    now, _ = mixed_transforms(demand, odds, rows, days[row], weight[row])
    return DemandLaw(
        pmf_from_0=pmf_on_circle(now, radius, length)[:, :points], mean=mean, variance=variance
    )


def interval_rows(law: ArrayLike | None, demand: Demand, interval: Interval) -> IntArray:
    n_parts, n_laws = len(demand.asks_per_day), len(interval.review_days)
    row = checks.counts(np.zeros(n_parts) if law is None else law, "interval law", least=0)
    if row.shape != (n_parts,) or row.max(initial=0) >= n_laws:
        raise ValueError(f"each of {n_parts} parts needs one interval law below {n_laws}")
    return row


def enough_nodes(asks_in_spread: FloatArray) -> int:
    """Nodes of a Gauss rule over the interval that leave an error below 1e-8.

    The integrand exp(-a t w), |w| <= 2, over a spread of d days has exponent a d either side of
    its middle; m nodes integrate that to 1e-8 for a d up to about m**1.3 / 4. More than 256 are
    never needed: by then the asks themselves blur what lies between two nodes.
    """
    most = float(asks_in_spread.max(initial=0))
    return next((count for count in NODE_COUNTS if most <= reach(count)), NODE_COUNTS[-1])


def reach(nodes: int) -> float:
    return 0.0 if nodes == 1 else nodes**1.3 / 4 - 1


def damped_circle(length: int, step: int = 1) -> tuple[ComplexArray, float]:
    """Half of the points of a circle at which transforms are taken, and its radius."""
    radius = DAMPING ** (1 / (length * step))
    angle = np.arange(length // 2 + 1) / (length * step)
    return radius * np.exp(-2j * np.pi * angle), radius**step


def mixed_transforms(
    demand: Demand, odds: ComplexArray, rows: IntArray, days: FloatArray, weight: FloatArray
) -> tuple[ComplexArray, ComplexArray]:
    """Transforms of demand over the interval: at any time, and as an ask finds it.

    An ask is itself news of the rate: seen from an ask, the gamma shape is one higher.

    Source: Grandell (1997), Mixed Poisson Processes, section 2.2 (posterior of the mixing law).
    """
    known = np.isinf(demand.rate_shape[rows])
    now, asked = np.empty_like(odds), np.empty_like(odds)
    for group, transforms in ((known, known_rate_transforms), (~known, rough_rate_transforms)):
        if group.any():
            part = slice(None) if group.all() else group
            now[part], asked[part] = transforms(
                demand, odds[part], rows[part], days[part], weight[part]
            )
    return now, asked


def known_rate_transforms(
    demand: Demand, odds: ComplexArray, rows: IntArray, days: FloatArray, weight: FloatArray
) -> tuple[ComplexArray, ComplexArray]:
    pace = -demand.asks_per_day[rows][:, None] * odds
    now = np.zeros_like(odds)
    for node in range(days.shape[1]):
        now += weight[:, node, None] * np.exp(days[:, node, None] * pace)
    return now, now


def rough_rate_transforms(
    demand: Demand, odds: ComplexArray, rows: IntArray, days: FloatArray, weight: FloatArray
) -> tuple[ComplexArray, ComplexArray]:
    shape = demand.rate_shape[rows][:, None]
    pace = demand.asks_per_day[rows][:, None] / shape * odds
    now, asked = np.zeros_like(odds), np.zeros_like(odds)
    for node in range(days.shape[1]):
        grown = 1 + days[:, node, None] * pace
        part = weight[:, node, None] * np.exp(-shape * np.log(grown))
        now += part
        asked += part / grown
    return now, asked


def pmf_on_circle(transform: ComplexArray, radius: float, length: int) -> FloatArray:
    """Chances from a transform taken on the damped circle."""
    damped = np.fft.irfft(transform, n=length, axis=1)
    return np.asarray(np.maximum(damped * radius ** -np.arange(length), 0))
