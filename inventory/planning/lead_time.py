"""How long an order takes, learned from deliveries, and how long it waits for its order day.

Makes the laws of ``interval``. Reading deliveries and suppliers is not done here.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from inventory.planning import checks
from inventory.planning.checks import FloatArray
from inventory.planning.interval import Interval

DAYS_IN_WEEK = 7


def lead_time_chances(
    deliveries: ArrayLike, *, stated_days: ArrayLike, deliveries_to_believe: float = 4.0
) -> FloatArray:
    """Chances of a lead time of 0, 1, 2 … days, supplier by supplier.

    chance of d = (deliveries after d days + c · [d is the stated time]) / (deliveries + c).

    Parameters
    ----------
    deliveries : (n_suppliers, n_days) deliveries that came after 0, 1, 2 … days
    stated_days : (n_suppliers,) whole days the supplier names, below n_days
    deliveries_to_believe : c, deliveries before the seen times outweigh the stated one, above 0

    Returns
    -------
    (n_suppliers, n_days) float array, rows sum to 1

    Raises
    ------
    ValueError : a negative number, a stated time outside the table, c of 0

    Source: Dirichlet–multinomial smoothing, Gelman et al. (2013), Bayesian Data Analysis, 3rd ed.,
    section 3.4.

    >>> lead_time_chances([[0, 3, 1]], stated_days=[2], deliveries_to_believe=4)
    array([[0.   , 0.375, 0.625]])
    """
    seen = np.atleast_2d(checks.not_negative(deliveries, "deliveries"))
    stated = np.atleast_1d(checks.counts(stated_days, "stated lead time in days", least=0))
    if stated.max(initial=0) >= seen.shape[1]:
        raise ValueError(
            f"stated lead time must be below {seen.shape[1]} days; got {int(stated.max())}"
        )
    believed = float(checks.positive(deliveries_to_believe, "deliveries to believe"))
    counted = seen.copy()
    counted[np.arange(len(seen)), stated] += believed
    return np.asarray(counted / counted.sum(axis=1, keepdims=True))


def order_day_wait_chances(order_days: ArrayLike) -> FloatArray:
    """Chances that a need arisen at any moment waits 0, 1 … 6 whole days, and part of a day more.

    A moment falls into the gap of g days before an order day with chance g / 7 and is anywhere in
    it, so chance of k = (gaps longer than k) / 7. Gaps run from one cut-off to the next, so that
    the hour of the cut-off does not matter as long as it is the same each day.

    Parameters
    ----------
    order_days : (n_suppliers, 7) bool array, Monday first

    Returns
    -------
    (n_suppliers, 7) float array, rows sum to 1; the part of a day is uniform

    Raises
    ------
    ValueError : a supplier without an order day

    Source: residual time of a renewal process, Ross (2014), Introduction to Probability Models,
    section 7.7.

    >>> weekly, weekdays = order_day_wait_chances([[1, 0, 0, 0, 0, 0, 0], [1, 1, 1, 1, 1, 0, 0]])
    >>> (weekly * 7).round(), (weekdays * 7).round()
    (array([1., 1., 1., 1., 1., 1., 1.]), array([5., 1., 1., 0., 0., 0., 0.]))
    """
    on_days = np.atleast_2d(np.asarray(order_days, dtype=bool))
    if on_days.shape[1] != DAYS_IN_WEEK or not on_days.any(axis=1).all():
        raise ValueError("each supplier needs seven weekdays, at least one of them an order day")
    return np.asarray(longer_gaps(on_days) / DAYS_IN_WEEK)


def longer_gaps(on_days: NDArray[np.bool_]) -> FloatArray:
    """How many gaps between order days are longer than 0, 1 … 6 days.

    A gap is longer than k when the k days before its order day hold no other.
    """
    free = np.ones(on_days.shape, dtype=bool)
    longer = np.zeros(on_days.shape)
    for days in range(DAYS_IN_WEEK):
        longer[:, days] = (on_days & free).sum(axis=1)
        free &= ~np.roll(on_days, days + 1, axis=1)
    return longer


def order_interval(lead_time: ArrayLike, order_day_wait: ArrayLike) -> Interval:
    """The days a shelf must bridge: the wait for the order day, then the lead time.

    Both are whole days with chances, independent of each other; the part of a day is uniform.

    Parameters
    ----------
    lead_time : (n_suppliers, n_days) chances of 0, 1, 2 … days
    order_day_wait : (n_suppliers, n_waits) chances of 0, 1, 2 … whole days

    Returns
    -------
    Interval : one law a supplier

    Raises
    ------
    ValueError : chances that do not sum to 1, a different number of suppliers

    Source: convolution of two laws.

    >>> interval = order_interval([[0, 0, 1.0]], order_day_wait_chances([[1, 0, 0, 0, 0, 0, 0]]))
    >>> interval.mean_days  # two days and half a week
    array([5.5])
    """
    lead = np.atleast_2d(checks.chances(lead_time, "chances of the lead times"))
    wait = np.atleast_2d(checks.chances(order_day_wait, "chances of the waits"))
    if len(lead) != len(wait):
        raise ValueError(f"{len(lead)} suppliers have lead times, {len(wait)} have order days")
    n_days = lead.shape[1]
    both = np.zeros((len(lead), n_days + wait.shape[1] - 1))
    for days in range(wait.shape[1]):
        both[:, days : days + n_days] += lead * wait[:, days, None]
    return Interval.of(np.broadcast_to(np.arange(both.shape[1]), both.shape), both, review_days=1)
