"""What several wheels together leave at risk: the chance that any of their parts fails."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from jobs.replacement.posterior import Draws
from jobs.replacement.weibull import chance_of_failure


@dataclass(frozen=True, slots=True, kw_only=True)
class AtRisk:
    """One part as it will stand; `hopeless` where it is known not to last, whatever its age."""

    age_years: float
    years: float
    laws: Draws
    hopeless: bool = False


def chance_of_any(parts: Sequence[AtRisk]) -> float:
    """The chance that at least one of several parts fails, each within its own horizon.

    Mean over the laws of 1 − Π (1 − q): parts of one family share what is not known of it, so
    that their failures go together more than independent ones would.

    Parameters
    ----------
    parts : AtRisk; laws of one length, each in its posterior's own order

    Returns
    -------
    a chance; 0 where there is no part

    >>> import numpy as np
    >>> sure = Draws(log_scale=np.log([8.5]), log_shape=np.log([5.0]))
    >>> part = AtRisk(age_years=4, years=4, laws=sure)
    >>> round(chance_of_any([part]), 3), round(chance_of_any([part, part]), 3)
    (0.511, 0.761)
    """
    if not parts:
        return 0.0
    lasts = np.ones(len(parts[0].laws.log_scale))
    for part in parts:
        fails = chance_of_failure(
            part.age_years, part.years, scale=part.laws.scale, shape=part.laws.shape
        )
        lasts = lasts * (0.0 if part.hopeless else 1 - fails)
    return float(1 - lasts.mean())
