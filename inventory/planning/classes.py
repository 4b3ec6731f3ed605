"""Which parts bring most of the margin: classes A, B, C … by cumulative share.

A class says how much care a part deserves, not how much of it to keep: that is ``policy``.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from inventory.planning import checks
from inventory.planning.checks import FloatArray, IntArray

USUAL_CUTS = (0.80, 0.95)


@dataclass(frozen=True, slots=True, kw_only=True)
class Classes:
    """Arrays with one entry a part: 0 is the first class (A); the share is of the group's total."""

    number: IntArray
    share: FloatArray


def classes(
    worth: ArrayLike, *, cuts: Sequence[float] = USUAL_CUTS, group: ArrayLike | None = None
) -> Classes:
    """Parts by what they bring: the fewest that together bring the first cut's share are class 0.

    With the parts of a group in order of falling worth, a part is in the class of the cut below
    which the parts before it lie: before_i = sum_(worth_j > worth_i) worth_j / sum_j worth_j,
    class_i = number of cuts <= before_i. Parts of equal worth share a class, the better one; what
    brings nothing is in the last class.

    Parameters
    ----------
    worth : (n_parts,) what a part brings in a year, any one money unit; not negative
    cuts : ascending shares between 0 and 1; one class more than there are cuts
    group : (n_parts,) int array, which parts are ranked together; all of them when absent

    Returns
    -------
    Classes : (n_parts,) arrays

    Raises
    ------
    ValueError : a negative worth, cuts that do not ascend or lie outside 0 to 1

    Source: Dickie (1951), ABC inventory analysis shoots for dollars, not pennies, Factory
    Management and Maintenance 109 (from memory), who ranks by money used a year. Margin in place of
    money used, because margin is what a miss loses, and cuts at 80 and 95 %: common practice, no
    source.

    >>> classes([60, 25, 10, 5, 0]).number
    array([0, 0, 1, 2, 2])
    """
    value = np.atleast_1d(checks.not_negative(worth, "worth of a part"))
    edges = np.asarray(cuts, dtype=np.float64)
    checks.between_0_and_1(edges, "cut between classes")
    if (np.diff(edges) <= 0).any():
        raise ValueError(f"cuts between classes must ascend; got {list(cuts)}")
    given = np.zeros(len(value)) if group is None else group
    _, of_group = np.unique(np.broadcast_to(given, value.shape), return_inverse=True)
    total = np.bincount(of_group, weights=value)[of_group]
    share = value / np.where(total > 0, total, 1.0)
    number = np.searchsorted(edges, share_before(share, of_group) + 1e-12, side="right")
    return Classes(number=np.where(value > 0, number, len(edges)), share=share)


def share_before(share: FloatArray, group: IntArray) -> FloatArray:
    """What the parts of the same group that bring more than each part bring together."""
    order = np.lexsort((-share, group))
    ranked, sector = share[order], group[order]
    changes = np.flatnonzero(np.diff(sector, prepend=-1))
    before = ranked.cumsum() - ranked
    before -= np.repeat(before[changes], np.diff(np.append(changes, len(ranked))))
    # Equals count from the first of them.
    first = np.flatnonzero((np.diff(ranked, prepend=-1) != 0) | (np.diff(sector, prepend=-1) != 0))
    lengths = np.diff(np.append(first, len(ranked)))
    found = np.empty_like(share)
    found[order] = np.repeat(before[first], lengths)
    return found
