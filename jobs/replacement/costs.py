"""What each action on a wheel is expected to cost until the next tire change.

One horizon, one failure a part: the level is a rough one, the order is what it is for. Costs in
any one money unit; what counts as a price or a loss is the caller's matter.
"""

import numpy as np
from numpy.typing import ArrayLike

from jobs.replacement.actions import MAKES_NEW
from jobs.replacement.weibull import Array


def expected_costs(
    price_now: ArrayLike, *, chance_kept: ArrayLike, chance_new: ArrayLike, loss: ArrayLike
) -> Array:
    """Price now and what later failures are expected to add, for each action.

    price of the action + Σ over body, stem and seal of q × loss, with q the chance of failing of
    the part as it is, or of a new one where the action makes it new.

    Parameters
    ----------
    price_now : (…, 5) array, in the order of ACTIONS
    chance_kept, chance_new : (…, 3) arrays, in the order of PARTS
    loss : (…, 3) array: what a failure of each part costs, return visit included

    Returns
    -------
    (…, 5) array

    >>> expected_costs([0, 4, 42, 12, 49], chance_kept=[0.5, 0.1, 0.1],
    ...                chance_new=[0.0, 0.1, 0.1], loss=[80, 50, 40]).round(1).tolist()
    [49.0, 53.0, 51.0, 61.0, 58.0]
    """
    kept, new = np.multiply(chance_kept, loss), np.multiply(chance_new, loss)
    costs: Array = np.asarray(price_now) + kept @ _KEPT + new @ _NEW
    return costs


_KEPT, _NEW = (~MAKES_NEW).T.astype(np.float64), MAKES_NEW.T.astype(np.float64)
