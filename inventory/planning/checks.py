"""What every public door of the planning arithmetic asks of its arrays.

Not a place for arithmetic: a check returns the array it was given as floats, or refuses it in one
sentence.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
ComplexArray = NDArray[np.complex128]


def finite(values: ArrayLike, name: str) -> FloatArray:
    array = np.asarray(values, dtype=np.float64)
    if not np.isfinite(array).all():
        raise ValueError(f"{name} must be finite numbers; got {first(array, ~np.isfinite(array))}")
    return array


def not_negative(values: ArrayLike, name: str) -> FloatArray:
    array = finite(values, name)
    if (array < 0).any():
        raise ValueError(f"{name} must not be negative; got {first(array, array < 0)}")
    return array


def positive(values: ArrayLike, name: str) -> FloatArray:
    array = np.asarray(values, dtype=np.float64)
    if not (array > 0).all():
        raise ValueError(f"{name} must be above 0; got {first(array, ~(array > 0))}")
    return array


def counts(values: ArrayLike, name: str, *, least: int) -> IntArray:
    array = finite(values, name)
    whole = array.astype(np.int64)
    if (whole != array).any() or (whole < least).any():
        wrong = first(array, (whole != array) | (whole < least))
        raise ValueError(f"{name} must be whole numbers of at least {least}; got {wrong}")
    return whole


def between_0_and_1(values: ArrayLike, name: str) -> FloatArray:
    array = np.asarray(values, dtype=np.float64)
    inside = (array > 0) & (array < 1)
    if not inside.all():
        raise ValueError(f"{name} must be between 0 and 1; got {first(array, ~inside)}")
    return array


def chances(values: ArrayLike, name: str) -> FloatArray:
    """Rows of probabilities; each row sums to 1 within rounding and is scaled to do so exactly."""
    array = not_negative(values, name)
    total = array.sum(axis=-1, keepdims=True)
    off = np.abs(total - 1) > 1e-6
    if off.any():
        raise ValueError(f"{name} must sum to 1; got {first(total, off)}")
    return np.asarray(array / total, dtype=np.float64)


def first(array: FloatArray, wrong: NDArray[np.bool_]) -> str:
    return f"{np.atleast_1d(array)[np.atleast_1d(wrong)][0]:g}"
