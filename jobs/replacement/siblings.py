"""The other wheels: replace a good sibling's body while we are here, or wait.

A wheel is apart today because another wheel's body failed, so most of the visit is paid for. The
answer weighs that against the life thrown away, over the stretches to the coming tire changes, in
which the wheel comes apart anyway. Every failure counts, also of bodies fitted meanwhile.
"""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike

from jobs.replacement.weibull import Array, cumulative_hazard

STEPS = 60
"""Steps of time in a stretch: costs are then within two parts in ten thousand."""


class SiblingChoice(StrEnum):
    NOW = "now"
    WAIT = "wait"


@dataclass(frozen=True, slots=True, kw_only=True)
class SiblingAdvice:
    """The cheaper choice, what each is expected to cost, how many of the laws agree with it."""

    choose: SiblingChoice
    cost_now: float
    cost_wait: float
    share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SiblingPrices:
    """What a customer pays, in one money unit.

    setup : for a visit of its own, re-learn included
    dismount : taking one more wheel apart
    part : the new body
    """

    setup: float
    dismount: float
    part: float

    @property
    def failure(self) -> float:
        return self.setup + self.dismount + self.part


def sibling_replacement(
    age: float,
    *,
    scale: ArrayLike,
    shape: ArrayLike,
    prices: SiblingPrices,
    to_tire_change: float,
    later_horizon: float,
    horizons: int,
) -> SiblingAdvice:
    """Replace this good body now, or wait for a tire change or its own failure.

    now = dismount + part + W₁(0), wait = W₁(age). W_k(a), the cost from age a over stretch k and
    all after it, solves W(a) = P(lives)·V(a + T) + ∫ f(t | a)·(failure + G(T − t)) dt, G the same
    for a new body with less time left; V = min(W_{k+1}(a), part + W_{k+1}(0)), 0 after the last.

    Parameters
    ----------
    age : of the good body, years
    scale, shape : one law, or arrays of equally likely laws
    prices : SiblingPrices
    to_tire_change, later_horizon : lengths of the first stretch and of the others, years, > 0
    horizons : stretches to plan over, ≥ 1

    Returns
    -------
    SiblingAdvice

    Source: renewal equation of a part replaced at failure (Barlow & Proschan 1965, ch. 3; from
    memory), solved step by step in time.

    >>> prices = SiblingPrices(setup=30, dismount=22, part=42)
    >>> sibling_replacement(8, scale=8.5, shape=5, prices=prices, to_tire_change=2,
    ...                     later_horizon=4, horizons=3).choose
    <SiblingChoice.NOW: 'now'>
    """
    if horizons < 1 or min(to_tire_change, later_horizon) <= 0 or age < 0:
        raise ValueError("a plan needs an age, stretches longer than 0 years, and one at least")
    lengths = [to_tire_change] + [later_horizon] * (horizons - 1)
    log_scale, log_shape = np.log(np.broadcast_arrays(np.atleast_1d(scale), np.atleast_1d(shape)))
    costs = _now_and_wait(age, log_scale, log_shape, prices, lengths)
    now, wait = (each.mean() for each in costs)
    choose = SiblingChoice.NOW if now < wait else SiblingChoice.WAIT
    agreeing = (costs[0] < costs[1]) == (choose is SiblingChoice.NOW)
    return SiblingAdvice(
        choose=choose, cost_now=float(now), cost_wait=float(wait), share=float(agreeing.mean())
    )


def _now_and_wait(
    age: float, log_scale: Array, log_shape: Array, prices: SiblingPrices, lengths: list[float]
) -> tuple[Array, Array]:
    """(laws,) costs of both choices, all laws at a time."""
    ages = np.linspace(0.0, age + sum(lengths), 3 * STEPS)
    value = np.zeros((len(log_scale), len(ages)))
    for length in reversed(lengths[1:]):
        stretch = _Stretch(log_scale, log_shape, length, prices.failure, ages, value)
        kept = stretch.costs_from(ages)
        value = np.minimum(kept, prices.part + kept[:, :1])
    first = _Stretch(log_scale, log_shape, lengths[0], prices.failure, ages, value)
    new, old = first.costs_from(np.array([0.0, age])).T
    return prices.dismount + prices.part + new, old


@dataclass(frozen=True, slots=True)
class _Stretch:
    """One stretch between tire changes, with the value of each age at its end, law by law.

    log_scale, log_shape : (laws,); ages : (n_ages,), evenly spaced from 0; value : (laws, n_ages)
    """

    log_scale: Array
    log_shape: Array
    length: float
    failure: float
    ages: Array
    value: Array

    def hazard(self, age: Array) -> Array:
        """(laws, …) hazard lived through by each age."""
        over = (slice(None), *(None for _ in age.shape))
        return cumulative_hazard(
            age[None], log_scale=self.log_scale[over], log_shape=self.log_shape[over]
        )

    def value_at(self, age: Array) -> Array:
        """(laws, n) value between the ages it is known at, in straight lines."""
        place = np.clip(age / self.ages[1], 0.0, len(self.ages) - 1.0)
        left = np.minimum(place.astype(np.intp), len(self.ages) - 2)
        share = place - left
        between: Array = self.value[:, left] * (1 - share) + self.value[:, left + 1] * share
        return between

    def costs_from(self, ages: Array) -> Array:
        """W at many ages: it lives to the end, or fails at some step and is replaced by a new one.

        Chances of failing within a step are exact; what follows is taken midway between its ends.
        """
        times = np.linspace(0.0, self.length, STEPS + 1)
        lived = self.hazard(ages)[:, :, None]
        alive = np.exp(lived - self.hazard(ages[:, None] + times[None, :]))
        left = self.renewed(times)[:, ::-1]
        following = self.failure + (left[:, 1:] + left[:, :-1]) / 2
        costs: Array = (-np.diff(alive, axis=2) @ following[:, :, None])[:, :, 0]
        costs += alive[:, :, -1] * self.value_at(ages + self.length)
        return costs

    def renewed(self, times: Array) -> Array:
        """G: cost of a new body with so much time left, one step of time after the other."""
        alive = np.exp(-self.hazard(times))
        fails = -np.diff(alive, axis=1)
        costs = alive * self.value_at(times)
        midway = np.zeros_like(fails)
        for step in range(1, len(times)):
            # Failing in step i leaves the time of the steps after it, taken from its middle; for
            # the first step that involves the unknown itself, so it is solved for.
            later = np.sum(fails[:, 1:step] * midway[:, : step - 1][:, ::-1], axis=1)
            known = costs[:, step] + self.failure * fails[:, :step].sum(axis=1) + later
            half = fails[:, 0] / 2
            costs[:, step] = (known + half * costs[:, step - 1]) / (1 - half)
            midway[:, step - 1] = (costs[:, step] + costs[:, step - 1]) / 2
        return costs
