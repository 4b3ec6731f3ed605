"""How long a family of parts lasts, and how sure we are: prior and records weighed on a grid.

Never a bare maximum-likelihood fit: with no failure, or one, it is absurd. The mode is here only
to be held against other people's fits.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Self

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import interpolate, optimize

from jobs.replacement.likelihood import LogLikelihood
from jobs.replacement.lives import Lives
from jobs.replacement.priors import Prior
from jobs.replacement.weibull import Array, cumulative_hazard

CELLS = 80
"""Cells of the grid on each axis."""
_SEARCH_CELLS = 32
# A cell whose density is below e^-18 of the best holds less than 2e-8 of what the best holds.
_NEGLIGIBLE = -18.0
_FAINT = -12.0
_FINER = 4
_LOG_SCALE_BOX = (np.log(0.02), np.log(5000.0))
_LOG_SHAPE_BOX = (np.log(0.05), np.log(80.0))

DRAWS = 128
"""Laws drawn from a posterior for an advice."""

MOSTLY_ASSUMPTION_BELOW = 10
"""With fewer records of its own a family's figures are mostly the prior's."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Draws:
    """Equally likely laws, drawn from a posterior in its own order: arrays of one length."""

    log_scale: Array
    log_shape: Array

    @property
    def scale(self) -> Array:
        return np.exp(self.log_scale)

    @property
    def shape(self) -> Array:
        return np.exp(self.log_shape)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cloud:
    """Laws with their weights, as flat arrays of one length; what weighs next to nothing left out.

    The lumps of an 80 × 80 grid would show in a quantile by half a percent; in a mean they do not.
    """

    log_scale: Array
    log_shape: Array
    weight: Array

    def chance(self, age: float, horizon: float) -> Array:
        return _chance(age, horizon, self.log_scale, self.log_shape)

    def quantiles(self, values: Array, levels: tuple[float, ...]) -> tuple[float, ...]:
        order = np.argsort(values)
        reached = np.cumsum(self.weight[order]) - 0.5 * self.weight[order]
        return tuple(float(q) for q in np.interp(levels, reached, values[order]))


@dataclass(frozen=True, slots=True, kw_only=True)
class Chance:
    """Posterior mean of a chance and the band that holds nine tenths of it."""

    mean: float
    low90: float
    high90: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Posterior:
    """What prior and records together say about a family's law, on a grid.

    log_scale, log_shape : (CELLS,) centres of the cells
    weight : (CELLS, CELLS) probability of each, log scale down, log shape across; sums to 1
    fine : the same, interpolated to a finer grid, for bands
    records, failures : how many of the shop's own stand behind it
    """

    log_scale: Array
    log_shape: Array
    weight: Array
    fine: "Cloud"
    records: int
    failures: int

    @property
    def mostly_assumption(self) -> bool:
        return self.records < MOSTLY_ASSUMPTION_BELOW

    def chance_grid(self, age: float, horizon: float) -> Array:
        """The chance of failing within the horizon, alive at age, for every cell's law."""
        return _chance(age, horizon, self.log_scale[:, None], self.log_shape[None, :])

    def chance(self, age: float, horizon: float) -> Chance:
        """The chance of failing within a horizon, alive at an age, all laws considered.

        The posterior is not conditioned again on this part's having lived so long: its own life is
        a record already, and counts once.

        >>> from jobs.replacement.lives import NO_LIVES
        >>> from jobs.replacement.priors import DEFAULT_PRIORS
        >>> nobody = posterior(NO_LIVES, DEFAULT_PRIORS["body"])
        >>> round(nobody.chance(0, 4).mean, 3)
        0.056
        """
        mean = np.sum(self.chance_grid(age, horizon) * self.weight)
        low, high = self.fine.quantiles(self.fine.chance(age, horizon), (0.05, 0.95))
        return Chance(mean=float(mean), low90=low, high90=high)

    def reweighted(self, factor: Callable[[Array], Array]) -> Self:
        """The same laws with their weights times a factor of the log scale."""
        weight = self.weight * factor(self.log_scale)[:, None]
        # The cloud repeats each log scale for every shape: the factor is asked once for each.
        scales, places = np.unique(self.fine.log_scale, return_inverse=True)
        fine = self.fine.weight * factor(scales)[places]
        return replace(
            self,
            weight=weight / weight.sum(),
            fine=replace(self.fine, weight=fine / fine.sum()),
        )

    def survival(self, ages: ArrayLike) -> tuple[Array, Array, Array]:
        """Posterior mean and 90 % band of surviving to each age: mean, low, high."""
        chances = [self.chance(0.0, float(age)) for age in np.asarray(ages)]
        mean, low, high = np.array([(c.mean, c.high90, c.low90) for c in chances]).T
        return 1 - mean, 1 - low, 1 - high

    def draws(self, count: int = DRAWS) -> Draws:
        """So many equally likely laws, spread evenly: no chance is involved.

        Scales at even steps of their probability, shapes given the scale at steps of the golden
        ratio. Means over 128 of them are within 0.002 of the grid's.
        """
        steps = (np.arange(count) + 0.5) / count
        rows = np.cumsum(self.weight.sum(axis=1)) - 0.5 * self.weight.sum(axis=1)
        log_scale = np.interp(steps, rows, self.log_scale)
        nearest = np.abs(self.log_scale[None, :] - log_scale[:, None]).argmin(axis=1)
        given = self.weight[nearest] / self.weight[nearest].sum(axis=1, keepdims=True)
        reached = np.cumsum(given, axis=1) - 0.5 * given
        golden = (np.arange(count) * (np.sqrt(5) - 1) / 2 + 0.5) % 1
        log_shape = [
            np.interp(step, row, self.log_shape) for step, row in zip(golden, reached, strict=True)
        ]
        return Draws(log_scale=log_scale, log_shape=np.array(log_shape))


def posterior(lives: Lives, prior: Prior) -> Posterior:
    """What a family's records make of the prior.

    Bayes' rule on an 80 × 80 grid of log scale × log shape, laid where the probability is.

    Parameters
    ----------
    lives : records, right-censored, interval-censored and left-truncated alike
    prior : beliefs without them

    Returns
    -------
    Posterior

    Source: Bayes' rule; likelihoods as in Meeker & Escobar, *Statistical Methods for Reliability
    Data*, ch. 11 (from memory).

    >>> from jobs.replacement.lives import Event, Life
    >>> from jobs.replacement.priors import DEFAULT_PRIORS
    >>> seen = Lives.of([Life(exit=9.0, event=Event.FAILED), Life(exit=5.0, event=Event.ALIVE)])
    >>> posterior(seen, DEFAULT_PRIORS["body"]).failures
    1
    """
    likelihood = lives.log_likelihood()
    box = _laid(likelihood, prior)
    scales, shapes, log_density = _density(likelihood, prior, box, CELLS)
    weight = np.exp(log_density - log_density.max())
    return Posterior(
        log_scale=scales,
        log_shape=shapes,
        weight=weight / weight.sum(),
        fine=_refined(scales, shapes, log_density - log_density.max()),
        records=len(lives),
        failures=lives.failures,
    )


def posterior_mode(lives: Lives, prior: Prior) -> tuple[float, float]:
    """Scale and shape at which the posterior density of log scale and log shape is highest.

    Under a prior so wide that it says nothing, this is the maximum-likelihood fit; it is for
    comparing with other people's figures, never for advice.

    >>> from jobs.replacement.lives import Event, Life
    >>> from jobs.replacement.priors import DEFAULT_PRIORS
    >>> never = Lives.of([Life(exit=5.0, event=Event.ALIVE)])
    >>> scale, shape = posterior_mode(never, DEFAULT_PRIORS["body"])
    >>> round(scale, 1), round(shape, 1)
    (8.7, 5.1)
    """
    likelihood = lives.log_likelihood()
    scales, shapes, density = _density(likelihood, prior, _laid(likelihood, prior), _SEARCH_CELLS)
    row, column = np.unravel_index(np.argmax(density), density.shape)

    def loss(point: Array) -> float:
        here = likelihood.at(point[:1], point[1:]) + prior.log_density(point[0], point[1])
        return -float(here[0, 0])

    start = np.array([scales[row], shapes[column]])
    found = optimize.minimize(loss, start, method="Nelder-Mead", options={"xatol": 1e-7})
    scale, shape = np.exp(found.x)
    return float(scale), float(shape)


def _chance(age: float, horizon: float, log_scale: Array, log_shape: Array) -> Array:
    lived = cumulative_hazard(age, log_scale=log_scale, log_shape=log_shape)
    later = cumulative_hazard(age + horizon, log_scale=log_scale, log_shape=log_shape)
    chance: Array = -np.expm1(lived - later)
    return chance


def _refined(scales: Array, shapes: Array, log_density: Array) -> Cloud:
    # The floor keeps the spline calm where the density is nothing anyway.
    spline = interpolate.RectBivariateSpline(scales, shapes, np.maximum(log_density, -40.0))
    fine_scales, fine_shapes = (
        np.linspace(axis[0], axis[-1], _FINER * CELLS) for axis in (scales, shapes)
    )
    fine = spline(fine_scales, fine_shapes)
    row, column = np.nonzero(fine > _FAINT)
    weight = np.exp(fine[row, column])
    return Cloud(
        log_scale=fine_scales[row], log_shape=fine_shapes[column], weight=weight / weight.sum()
    )


_Box = tuple[float, float, float, float]


def _density(
    likelihood: LogLikelihood, prior: Prior, box: _Box, cells: int
) -> tuple[Array, Array, Array]:
    scales = np.linspace(box[0], box[1], cells)
    shapes = np.linspace(box[2], box[3], cells)
    density = likelihood.at(scales, shapes) + prior.log_density(scales[:, None], shapes[None, :])
    return scales, shapes, density


def _laid(likelihood: LogLikelihood, prior: Prior) -> _Box:
    """Lay the box of the grid round what is not negligible: shrink to it, widen when it touches."""
    box = (
        *_span(prior.mean_log_scale, prior.sd_log_scale, _LOG_SCALE_BOX),
        *_span(prior.mean_log_shape, prior.sd_log_shape, _LOG_SHAPE_BOX),
    )
    for _ in range(24):
        scales, shapes, density = _density(likelihood, prior, box, _SEARCH_CELLS)
        kept = density > density.max() + _NEGLIGIBLE
        low_scale, high_scale = _edges(scales, kept.any(axis=1), _LOG_SCALE_BOX)
        low_shape, high_shape = _edges(shapes, kept.any(axis=0), _LOG_SHAPE_BOX)
        before, box = box, (low_scale, high_scale, low_shape, high_shape)
        if _settled(before, box):
            break
    return box


def _span(mean: float, sd: float, limit: tuple[float, float]) -> tuple[float, float]:
    return max(mean - 6 * sd, limit[0]), min(mean + 6 * sd, limit[1])


def _edges(axis: Array, kept: NDArray[np.bool_], limit: tuple[float, float]) -> tuple[float, float]:
    first, last = np.flatnonzero(kept)[[0, -1]]
    step = axis[1] - axis[0]
    # What touches the edge may go on beyond it.
    below = axis[first] - step * (8 if first == 0 else 1)
    above = axis[last] + step * (8 if last == len(axis) - 1 else 1)
    return max(float(below), limit[0]), min(float(above), limit[1])


def _settled(before: _Box, after: _Box) -> bool:
    width = after[1] - after[0], after[3] - after[2]
    moved = np.abs(np.subtract(before, after)) / np.repeat(width, 2)
    return bool(np.all(moved < 0.15))
