"""What one family's records say about the others: a single offset shared by a shop's families.

Salt, heat and how a shop's customers drive shorten or lengthen all lives alike. A family's own
prior is kept as wide as it was: part of its spread is called the shop's, the rest its own. With one
family, or with none that has records, nothing changes.
"""

from collections.abc import Callable, Mapping

import numpy as np

from jobs.replacement.lives import Lives
from jobs.replacement.posterior import Posterior, posterior
from jobs.replacement.priors import Prior
from jobs.replacement.weibull import Array

SHARED_SD = 0.15
"""How far shops differ from one another in log scale: an assumption."""

_OFFSETS = np.linspace(-4.0, 4.0, 81)
"""In standard deviations of the offset."""


def shop_posteriors(
    families: Mapping[str, tuple[Lives, Prior]],
    *,
    shared_sd: float = SHARED_SD,
    fit: Callable[[Lives, Prior], Posterior] = posterior,
) -> dict[str, Posterior]:
    """Posteriors of all families, each told by the others through the shop's offset.

    log scale of family f = its prior mean + δ + its own part, δ ~ N(0, shared²) the same for all;
    the posterior of f is its own, reweighted by E over δ given the *other* families of
    N(log scale; mean + δ, own sd) ÷ N(log scale; mean, prior sd).

    Parameters
    ----------
    families : records and prior by name
    shared_sd : standard deviation of the offset, below every family's prior sd of log scale
    fit : `posterior`, or one that remembers what it has reckoned

    Returns
    -------
    dict of Posterior, by name

    Raises
    ------
    ValueError
        If the offset is as wide as a family's prior or wider.

    Source: Bayes' rule in a two-level normal model (Gelman et al., *Bayesian Data Analysis*,
    ch. 5; from memory), on a grid of offsets.
    """
    for name, (_, prior) in families.items():
        if shared_sd >= prior.sd_log_scale:
            raise ValueError(
                f"the shop's offset ({shared_sd}) must be narrower than the prior of “{name}” "
                f"({prior.sd_log_scale})"
            )
    alone = {name: fit(lives, prior) for name, (lives, prior) in families.items()}
    told = {
        name: np.log(_evidence(alone[name], prior, shared_sd))
        for name, (_, prior) in families.items()
    }
    everyone = sum(told.values(), -0.5 * _OFFSETS**2)
    return {
        name: _moved(alone[name], prior, shared_sd, everyone - told[name])
        for name, (_, prior) in families.items()
    }


def shop_offset(
    families: Mapping[str, tuple[Lives, Prior]], *, shared_sd: float = SHARED_SD
) -> tuple[float, float]:
    """Mean and sd of the shop's offset: e^mean times as long as assumed lasts a part here."""
    weight = np.exp(-0.5 * _OFFSETS**2)
    for lives, prior in families.values():
        weight = weight * _evidence(posterior(lives, prior), prior, shared_sd)
    weight /= weight.sum()
    mean = float(weight @ _OFFSETS) * shared_sd
    return mean, float(np.sqrt(weight @ (_OFFSETS * shared_sd - mean) ** 2))


def _evidence(family: Posterior, prior: Prior, shared_sd: float) -> Array:
    """How well each offset explains the family's records, up to a factor."""
    evidence: Array = family.weight.sum(axis=1) @ _ratio(family.log_scale, prior, shared_sd)
    return evidence + 1e-300


def _ratio(log_scale: Array, prior: Prior, shared_sd: float) -> Array:
    """(n_scales, n_offsets): prior around each offset, over the prior without one."""
    own = np.sqrt(prior.sd_log_scale**2 - shared_sd**2)
    off = log_scale[:, None] - prior.mean_log_scale
    narrow = -0.5 * ((off - shared_sd * _OFFSETS) / own) ** 2 - np.log(own)
    wide = -0.5 * (off / prior.sd_log_scale) ** 2 - np.log(prior.sd_log_scale)
    ratio: Array = np.exp(narrow - wide)
    return ratio


def _moved(family: Posterior, prior: Prior, shared_sd: float, log_weight: Array) -> Posterior:
    weight = np.exp(log_weight - log_weight.max())
    weight /= weight.sum()
    return family.reweighted(lambda log_scale: _ratio(log_scale, prior, shared_sd) @ weight)
