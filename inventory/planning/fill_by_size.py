"""Job fill by the size of an ask: four of a kit are there less often than one.

``policy`` gives the job fill over all sizes; a job whose pieces are known asks for this instead.
"""

import numpy as np
from numpy.typing import ArrayLike

from inventory.planning import checks
from inventory.planning.checks import FloatArray, IntArray
from inventory.planning.curves import Batch, Lengths, Task, batches, running_sums, value_at
from inventory.planning.demand import Demand, damped_circle, mixed_transforms
from inventory.planning.interval import Interval
from inventory.planning.policy import checked_task


def job_fill_by_size(
    demand: Demand,
    interval: Interval,
    *,
    reorder_point: ArrayLike,
    order_quantity: ArrayLike,
    largest: int,
    law: ArrayLike | None = None,
) -> FloatArray:
    """The chance that an ask for 0, 1, 2 … pieces finds them all on the shelf.

    P(D + k <= y) with D the demand over the interval as an ask finds it, y uniform on R+1 … R+Q.
    Weighted by the chances of the sizes it is the job fill of ``policy``.

    Parameters
    ----------
    demand : demand of n_parts parts
    interval : the interval laws
    reorder_point : (n_parts,) whole numbers from -1 up, pieces
    order_quantity : (n_parts,) whole numbers from 1 up, pieces
    largest : the largest size wanted, pieces
    law : (n_parts,) int array, which interval law a part uses; law 0 when absent

    Returns
    -------
    (n_parts, largest + 1) float array

    Raises
    ------
    ValueError : a reorder point below -1, a quantity or largest size below 1, not whole

    Source: as ``policy.policy_service``.

    >>> from inventory.planning.demand import TableSizes
    >>> asks = Demand.of([0.3], TableSizes.of([0, 0.5, 0.5]))
    >>> one = Interval.of([1.0])
    >>> fill = job_fill_by_size(asks, one, reorder_point=1, order_quantity=1, largest=2)
    >>> fill.round(6)  # for two, nobody may have asked within the lead time: exp(-0.3)
    array([[0.971398, 0.851941, 0.740818]])
    """
    if largest < 1:
        raise ValueError(f"the largest size must be at least 1; got {largest}")
    task = checked_task(demand, interval, order_quantity, law)
    point = checks.counts(reorder_point, "reorder point", least=-1)
    at = np.broadcast_to(point, task.law.shape)
    fill = np.zeros((len(at), largest + 1))
    rules: dict[int, tuple[FloatArray, FloatArray]] = {}
    for batch in batches(task, np.arange(len(at)), Lengths.of(task, at).first):
        if batch.nodes not in rules:
            rules[batch.nodes] = interval.nodes(batch.nodes)
        curve = found_by_asks(task, batch, *rules[batch.nodes])
        quantity = np.maximum(1, task.order_quantity[batch.rows] // batch.step)
        for size in range(largest + 1):
            fill[batch.rows, size] = share_served(curve, at[batch.rows] - size, quantity, batch)
    return fill


def found_by_asks(task: Task, batch: Batch, days: FloatArray, weight: FloatArray) -> FloatArray:
    """Running sums over y of the chance that demand as an ask finds it is at most y."""
    z, radius = damped_circle(batch.length, batch.step)
    law = task.law[batch.rows]
    odds = 1 - task.demand.sizes.transform(z, batch.rows)
    _, asked = mixed_transforms(task.demand, odds, batch.rows, days[law], weight[law])
    return running_sums(asked, radius, batch.length)


def share_served(
    curve: FloatArray, above: IntArray, quantity: IntArray, batch: Batch
) -> FloatArray:
    """Mean over the quantity's positions above a point; below 0 nobody is served."""
    lower = np.maximum(above // batch.step, -1)
    upper = np.maximum(above // batch.step + quantity, -1)
    share = (value_at(curve, upper) - value_at(curve, lower)) / quantity
    return np.asarray(np.clip(share, 0, 1))
