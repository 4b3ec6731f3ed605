"""Bad lots: do the parts of one lot or maker fail faster than their family, and is it chance?

Watched failure by failure, for as long as one likes, at a false-alarm rate that is stated and
kept. An alarm says where to look and whom to ask; it proves no fault.
"""

from dataclasses import dataclass
from functools import cache

import numpy as np
from scipy.special import logsumexp

from jobs.replacement.lives import Lives
from jobs.replacement.posterior import Draws
from jobs.replacement.weibull import Array, cumulative_hazard

FALSE_ALARMS_PER_LOT = 0.01
"""One sound lot in a hundred may raise an alarm in its whole life."""

SUSPECTED = (2.0, 3.0)
"""Hazards a bad lot is suspected of, as multiples of the family's, equally likely."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LotWatch:
    """Where a lot stands.

    failures, expected : seen, and expected of a sound lot of these ages
    evidence : how many times likelier the lot's record is if it is bad than if it is sound
    alarm : the evidence has reached the threshold, 1 ÷ the false-alarm rate
    """

    failures: int
    expected: float
    evidence: float
    alarm: bool


def lot_watch(
    lot: Lives, laws: Draws, *, false_alarms_per_lot: float = FALSE_ALARMS_PER_LOT
) -> LotWatch:
    """Hold one lot's record so far against its family's.

    E = mean over laws and suspected multiples m of P(record | m·hazard) ÷ mean over laws of
    P(record | hazard). While the lot is sound E starts at 1 and wins nothing on average, so that
    it ever reaches 1/α has a chance of at most α, however often one looks. Among n sound lots at
    most n·α alarms are expected.

    Parameters
    ----------
    lot : all records of the lot, to date
    laws : of its family, from records that leave this lot out
    false_alarms_per_lot : α, between 0 and 1

    Returns
    -------
    LotWatch

    Source: Ville's inequality; sequential likelihood ratios (Wald 1945), mixed over alternatives
    (Robbins 1970; from memory).
    """
    if not 0 < false_alarms_per_lot < 1:
        raise ValueError(
            f"the false-alarm rate must be between 0 and 1; got {false_alarms_per_lot}"
        )
    sound = _log_likelihood(lot, laws, 1.0)
    bad = np.concatenate([_log_likelihood(lot, laws, multiple) for multiple in SUSPECTED])
    log_evidence = logsumexp(bad) - np.log(len(SUSPECTED)) - logsumexp(sound)
    return LotWatch(
        failures=lot.failures,
        expected=float(_lived(lot, laws).sum(axis=0).mean()),
        evidence=float(np.exp(min(log_evidence, 700.0))),
        alarm=bool(log_evidence >= -np.log(false_alarms_per_lot)),
    )


def expected_false_alarms(
    lots: int, *, false_alarms_per_lot: float = FALSE_ALARMS_PER_LOT
) -> float:
    """The most alarms to expect among so many sound lots, over their whole lives.

    >>> expected_false_alarms(40)
    0.4
    """
    return lots * false_alarms_per_lot


@cache
def fewest_failures_for_alarm(*, false_alarms_per_lot: float = FALSE_ALARMS_PER_LOT) -> int:
    """How many failures a lot must have before it can alarm, however young they came.

    Of k failures each is at most m times likelier at m times the hazard, and what lived speaks
    against it: E ≤ mean over m of m^k under any law. The least k with that mean at 1/α or more.

    >>> fewest_failures_for_alarm()
    5
    """
    failures = 1
    while np.mean(np.power(SUSPECTED, failures)) * false_alarms_per_lot < 1:
        failures += 1
    return failures


def _hazard(age: Array, laws: Draws) -> Array:
    return cumulative_hazard(
        age[:, None], log_scale=laws.log_scale[None, :], log_shape=laws.log_shape[None, :]
    )


def _lived(lot: Lives, laws: Draws) -> Array:
    """(records, laws) hazard lived through under our eyes."""
    lived: Array = _hazard(lot.exit, laws) - _hazard(lot.entry, laws)
    return lived


def _log_likelihood(lot: Lives, laws: Draws, multiple: float) -> Array:
    """(laws,) log likelihood of the lot's records if its hazard is a multiple of the family's."""
    end = np.where(lot.found, lot.open_from, lot.exit)
    total: Array = -multiple * (_hazard(end, laws) - _hazard(lot.entry, laws)).sum(axis=0)
    deaths = lot.exit[lot.failed]
    log_rate = (
        np.log(multiple)
        + laws.log_shape
        - laws.log_scale
        + (laws.shape - 1) * (np.log(deaths)[:, None] - laws.log_scale)
    )
    gap = (_hazard(lot.exit, laws) - _hazard(end, laws))[lot.found]
    found = np.log(-np.expm1(-multiple * gap) + 1e-300)
    total = total + log_rate.sum(axis=0) + found.sum(axis=0)
    return total
