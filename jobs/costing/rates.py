"""How often something happens, with how little is known when it was seen seldom.

1 comeback of 3 jobs is not 33 %: it is anything from 6 to 79. And two actions are compared among
jobs alike, not between old cars and new ones.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, log, sqrt

from scipy import stats

_Z95 = 1.959963984540054


@dataclass(frozen=True, slots=True, kw_only=True)
class Rate:
    """A share of cases with its 95 % interval; all None where there was no case."""

    happened: int
    cases: int
    rate: float | None
    low: float | None
    high: float | None


def rate(happened: int, cases: int) -> Rate:
    """How often, with Wilson's 95 % interval.

    Raises
    ------
    ValueError
        If it happened more often than there were cases.

    Source: Wilson 1927, as scipy.stats computes it.

    >>> one_of_three = rate(1, 3)
    >>> round(one_of_three.low, 2), round(one_of_three.high, 2)
    (0.06, 0.79)
    """
    if not 0 <= happened <= cases:
        raise ValueError(f"of {cases} cases, {happened} cannot have happened")
    if not cases:
        return Rate(happened=0, cases=0, rate=None, low=None, high=None)
    low, high = stats.binomtest(happened, cases).proportion_ci(method="wilson")
    return Rate(
        happened=happened, cases=cases, rate=happened / cases, low=float(low), high=float(high)
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Stratum:
    """Cases alike, such as stems of one age, split by what was done."""

    happened_a: int
    cases_a: int
    happened_b: int
    cases_b: int

    @property
    def cases(self) -> int:
        return self.cases_a + self.cases_b


@dataclass(frozen=True, slots=True, kw_only=True)
class Ratio:
    """How many times as often with a as with b, among cases alike, with its 95 % interval."""

    ratio: float
    low: float
    high: float


def adjusted_ratio(strata: Sequence[Stratum]) -> Ratio | None:
    """The rate with a over the rate with b, adjusted for what the strata are made by.

    Σ a·n_b/n ÷ Σ b·n_a/n over strata; interval from the log's variance.

    Returns
    -------
    Ratio; None where one side never happened, or never among cases alike

    Source: Mantel & Haenszel 1959; variance of Greenland & Robins 1985 (from memory).

    >>> adjusted_ratio([Stratum(happened_a=8, cases_a=80, happened_b=5, cases_b=100)]).ratio
    2.0
    """
    usable = [stratum for stratum in strata if stratum.cases]
    top = sum(s.happened_a * s.cases_b / s.cases for s in usable)
    bottom = sum(s.happened_b * s.cases_a / s.cases for s in usable)
    if not top or not bottom:
        return None
    spread = sum(_spread(s) for s in usable) / (top * bottom)
    ratio, width = top / bottom, _Z95 * sqrt(spread)
    return Ratio(ratio=ratio, low=exp(log(ratio) - width), high=exp(log(ratio) + width))


def _spread(s: Stratum) -> float:
    happened = s.happened_a + s.happened_b
    product = s.cases_a * s.cases_b * happened - s.happened_a * s.happened_b * s.cases
    return product / s.cases**2
