"""Which parts to keep so that the vehicles this shop sees are covered.

A vehicle is covered when at least one kept part fits it. Solved exactly as integer programmes by
SciPy's HiGHS; what a kept part costs to hold is ``budget``.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array, hstack, identity

from inventory.planning import checks
from inventory.planning.checks import FloatArray

Fits = Mapping[str, Sequence[int]]


@dataclass(frozen=True, slots=True, kw_only=True)
class RangeCover:
    """The parts kept, the weight of vehicles they cover, and the weight of all vehicles.

    ``proven`` is False when the time limit ended the search before the best was proven.
    """

    parts: tuple[str, ...]
    covered_weight: float
    whole_weight: float
    proven: bool


def smallest_range(
    weights: ArrayLike, fits: Fits, *, share: float, seconds: float = 10.0
) -> RangeCover:
    """The fewest parts that cover at least a share of the vehicles.

    min sum x_p with c_v <= sum over p fitting v of x_p, sum w_v c_v >= share · sum w_v, x binary.

    Parameters
    ----------
    weights : (n_vehicles,) how often each kind of vehicle is seen
    fits : for each part the indices of the vehicles it fits
    share : of the whole weight, above 0 and at most 1
    seconds : time limit

    Returns
    -------
    RangeCover

    Raises
    ------
    ValueError : a share outside 0 to 1, a vehicle that does not exist, a share no range can cover

    Source: set covering, Toregas et al. (1971), The location of emergency service facilities.

    >>> smallest_range([3, 2, 1], {"U": [0, 1], "V": [2]}, share=0.8).parts
    ('U',)
    """
    weight = checks.not_negative(weights, "weights of vehicles")
    if not 0 < share <= 1:
        raise ValueError(f"share must be above 0 and at most 1; got {share:g}")
    reachable = weight[sorted(vehicles_fitted(fits, len(weight)))].sum()
    wanted = share * weight.sum()
    if reachable < wanted * (1 - 1e-12):
        raise ValueError(
            f"all parts together cover {reachable / weight.sum():.1%} of the vehicles; "
            f"ask for a share of at most that, got {share:.1%}"
        )
    cost = np.concatenate([np.ones(len(fits)), np.zeros(len(weight))])
    enough = np.concatenate([np.zeros(len(fits)), weight])
    rule = LinearConstraint(enough[None, :], wanted * (1 - 1e-12), np.inf)
    return cover(weight, fits, cost, rule, seconds)


def widest_cover(
    weights: ArrayLike, fits: Fits, *, parts_allowed: int, seconds: float = 10.0
) -> RangeCover:
    """The greatest weight of vehicles that a given number of parts can cover.

    max sum w_v c_v with c_v <= sum over p fitting v of x_p, sum x_p <= parts allowed, x binary.

    Parameters
    ----------
    weights : (n_vehicles,) how often each kind of vehicle is seen
    fits : for each part the indices of the vehicles it fits
    parts_allowed : at least 0
    seconds : time limit

    Returns
    -------
    RangeCover

    Raises
    ------
    ValueError : a negative number of parts, a vehicle that does not exist

    Source: Church & ReVelle (1974), The maximal covering location problem.

    >>> widest_cover([3, 2, 1], {"U": [0, 1], "V": [2]}, parts_allowed=1).covered_weight
    5.0
    """
    weight = checks.not_negative(weights, "weights of vehicles")
    if parts_allowed < 0:
        raise ValueError(f"parts allowed must not be negative; got {parts_allowed}")
    vehicles_fitted(fits, len(weight))
    # The tiny price of a part keeps out parts that cover nothing more.
    price = 1e-6 * max(float(weight.sum()), 1e-300) / max(len(fits), 1)
    cost = np.concatenate([np.full(len(fits), price), -weight])
    few = np.concatenate([np.ones(len(fits)), np.zeros(len(weight))])
    return cover(weight, fits, cost, LinearConstraint(few[None, :], 0, parts_allowed), seconds)


def vehicles_fitted(fits: Fits, n_vehicles: int) -> set[int]:
    fitted = {vehicle for vehicles in fits.values() for vehicle in vehicles}
    strange = sorted(vehicle for vehicle in fitted if not 0 <= vehicle < n_vehicles)
    if strange:
        raise ValueError(f"vehicle {strange[0]} does not exist; there are {n_vehicles}")
    return fitted


def cover(
    weight: FloatArray, fits: Fits, cost: FloatArray, rule: LinearConstraint, seconds: float
) -> RangeCover:
    names = list(fits)
    if not names:
        return RangeCover(
            parts=(), covered_weight=0.0, whole_weight=float(weight.sum()), proven=True
        )
    fitting = fit_matrix(fits, len(weight))
    served = LinearConstraint(hstack([-fitting, identity(len(weight))]).tocsr(), -np.inf, 0)
    whole = np.concatenate([np.ones(len(names)), np.zeros(len(weight))])
    answer = milp(
        cost,
        constraints=[served, rule],
        integrality=whole,
        bounds=Bounds(0, 1),
        options={"time_limit": seconds},
    )
    if answer.x is None:
        raise ValueError(f"no range found within {seconds:g} seconds; allow more time")
    kept = answer.x[: len(names)] > 0.5
    covered = float(weight[(fitting @ kept) > 0].sum())
    return RangeCover(
        parts=tuple(name for name, keep in zip(names, kept, strict=True) if keep),
        covered_weight=covered,
        whole_weight=float(weight.sum()),
        proven=bool(answer.status == 0),
    )


def fit_matrix(fits: Fits, n_vehicles: int) -> Any:
    rows = [vehicle for vehicles in fits.values() for vehicle in set(vehicles)]
    columns = [number for number, vehicles in enumerate(fits.values()) for _ in set(vehicles)]
    return coo_array((np.ones(len(rows)), (rows, columns)), shape=(n_vehicles, len(fits))).tocsr()
