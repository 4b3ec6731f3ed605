"""On which days a part could be asked for and seen: the exposure behind every rate.

Arrays only. A day counts where the part was there at opening, or where the site writes down lost
asks; on other days neither exposure nor asks count, for a stock-out must not look like no demand.
"""

import numpy as np
from numpy.typing import NDArray

from inventory.reorder.inputs.facts import Ints

Days = NDArray[np.bool_]
ROWS_AT_A_TIME = 10_000


def days_seen(*, row: Ints, day: Ints, pieces: Ints, logged_from: Ints, n_days: int) -> Days:
    """(n_rows, n_days): whether a part was there at opening, or its lost asks are written down.

    Parameters
    ----------
    row, day, pieces : usable pieces that came or went, with the part-site's row and the day, 0 the
        first day of the history; what happened before it has a negative day
    logged_from : (n_rows,) first day on which lost asks are written down; n_days for never
    n_days : days of the history
    """
    seen = np.zeros((len(logged_from), n_days), dtype=np.bool_)
    # What comes on a day is there at the opening of the next one.
    opening = np.maximum(day + 1, 0)
    order = np.argsort(row, kind="stable")
    row, opening, pieces = row[order], opening[order], pieces[order]
    for first in range(0, len(seen), ROWS_AT_A_TIME):
        part = slice(*np.searchsorted(row, [first, first + ROWS_AT_A_TIME]))
        count = min(ROWS_AT_A_TIME, len(seen) - first)
        change = np.zeros((count, n_days + 1))
        np.add.at(change, (row[part] - first, np.minimum(opening[part], n_days)), pieces[part])
        seen[first : first + count] = change[:, :n_days].cumsum(axis=1) > 0
    seen |= np.arange(n_days) >= logged_from[:, None]
    return seen


def days_by_week(seen: Days) -> Ints:
    """(n_rows, n_weeks) days of exposure."""
    n_rows, n_days = seen.shape
    return np.asarray(seen.reshape(n_rows, n_days // 7, 7).sum(axis=2, dtype=np.int64))
