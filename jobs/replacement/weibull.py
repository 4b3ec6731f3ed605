"""The law by which a part grows old: hazard, chance of failure from an age on, break-even age.

One law with known scale and shape, arrays first. What is not known about scale and shape is the
posterior's business; years in, chances out.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import optimize

Array = NDArray[np.float64]

LONGEST_LIFE_YEARS = 60.0
"""Beyond this age no break-even is looked for: no wheel gets there."""


def cumulative_hazard(age: ArrayLike, *, log_scale: ArrayLike, log_shape: ArrayLike) -> Array:
    """How much hazard a part has lived through by an age: (age/scale)^shape.

    Parameters
    ----------
    age : array, years, ≥ 0
    log_scale, log_shape : arrays that broadcast with `age`; scale in years

    >>> float(cumulative_hazard(8.5, log_scale=np.log(8.5), log_shape=np.log(5)))
    1.0
    """
    ages = np.asarray(age, dtype=np.float64)
    with np.errstate(divide="ignore"):
        log_age = np.log(ages)
    exponent = np.exp(log_shape) * (log_age - np.asarray(log_scale))
    # Beyond e^700 a float overflows; such a part is dead at any smaller figure too.
    hazard: Array = np.exp(np.minimum(exponent, 700.0))
    return hazard


def chance_of_failure(
    age: ArrayLike, horizon: ArrayLike, *, scale: ArrayLike, shape: ArrayLike
) -> Array:
    """The chance that a part alive at an age fails within a horizon.

    q(a, h) = 1 − exp((a/η)^β − ((a + h)/η)^β).

    Parameters
    ----------
    age, horizon : arrays, years, ≥ 0
    scale, shape : arrays that broadcast with them, > 0; scale in years

    Returns
    -------
    array of chances

    Raises
    ------
    ValueError
        If an age or horizon is negative, or a scale or shape not positive.

    Source: closed form of the Weibull law; NIST/SEMATECH e-Handbook 8.1.6.2.

    >>> round(float(chance_of_failure(4, 4, scale=8.5, shape=5)), 6)
    0.511018
    """
    if np.any(np.less(age, 0)) or np.any(np.less(horizon, 0)):
        raise ValueError("an age and a horizon are at least 0 years; got a negative one")
    if np.any(np.less_equal(scale, 0)) or np.any(np.less_equal(shape, 0)):
        raise ValueError("scale and shape of a lifetime law are above 0")
    law = {"log_scale": np.log(scale), "log_shape": np.log(shape)}
    later = cumulative_hazard(np.add(age, horizon), **law)
    chance: Array = -np.expm1(cumulative_hazard(age, **law) - later)
    return chance


def break_even_age(
    horizon: float, *, scale: ArrayLike, shape: ArrayLike, price: float, failure_cost: float
) -> float | None:
    """The age from which replacing a good part now pays.

    The age a at which q(a, h) = price/failure_cost + q(0, h), q averaged over the laws given.

    Parameters
    ----------
    horizon : years until it could be replaced for nothing
    scale, shape : one law, or arrays of equally likely laws
    price : extra for replacing now, in any money unit
    failure_cost : what a failure on the road costs, in the same unit

    Returns
    -------
    age in years; 0 where replacing always pays; None where it never does

    >>> round(break_even_age(4, scale=8.5, shape=5, price=38, failure_cost=80), 2)
    3.94
    """

    def mean_chance(age: float) -> float:
        return float(np.mean(chance_of_failure(age, horizon, scale=scale, shape=shape)))

    needed = price / failure_cost + mean_chance(0.0)

    def gain(age: float) -> float:
        return mean_chance(age) - needed

    if gain(0.0) >= 0:
        return 0.0
    if gain(LONGEST_LIFE_YEARS) < 0:
        return None
    return float(optimize.brentq(gain, 0.0, LONGEST_LIFE_YEARS, xtol=1e-6))
