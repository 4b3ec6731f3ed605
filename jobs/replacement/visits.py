"""What to do today when more tire changes follow: a finite programme over the visits left.

Every visit takes the wheel apart, so every action renews the seal, and the seal drops out. A part
that failed between visits was replaced then and counts as half a stretch old at the next visit;
body and stem fail independently; nothing counts after the last visit. Many wheels at a time.
"""

from dataclasses import dataclass

import numpy as np

from jobs.replacement.weibull import Array


@dataclass(frozen=True, slots=True, kw_only=True)
class PartAhead:
    """One kind of part on many wheels: how likely it fails in a stretch, from each age it may have.

    own : (n_wheels, visits) chance from today's age, and from one stretch older at each visit
    renewed : (n_wheels, 2·visits) chance from ages 0, ½, 1, 1½ … stretches
    loss : (n_wheels,) cost of a failure, return visit included
    """

    own: Array
    renewed: Array
    loss: Array

    def at(self, visit: int) -> Array:
        """Chances by state: the part of today first, then one replaced so many half stretches ago.

        (n_wheels, 2·visits + 1)
        """
        return np.concatenate([self.own[:, visit : visit + 1], self.renewed], axis=1)


def costs_over_visits(
    body: PartAhead, stem: PartAhead, price: Array, *, visits: int, today: Array | None = None
) -> Array:
    """What each action today is expected to cost over all visits left, the best done at each later.

    V(b, s) = min over actions of price + q_b·loss_b + q_s·loss_s + E[V at the next visit].

    Parameters
    ----------
    body, stem : PartAhead
    price : (n_wheels, 4) array: neither, body, stem, both made new; inf where it cannot be done
    visits : visits left, today's included, ≥ 1
    today : the same for today, where it is another; finite

    Returns
    -------
    (n_wheels, 4) array of costs of today's actions

    Source: backward induction over a finite horizon (Bellman 1957).
    """
    if visits < 1:
        raise ValueError(f"today's visit counts, so at least 1 is left; got {visits}")
    ahead = np.zeros((len(price), 2 * visits + 1, 2 * visits + 1))
    for visit in reversed(range(visits)):
        stretch = _stretch(body, stem, ahead, visit)
        choices = _choices(stretch, price if visit or today is None else today)
        ahead = choices.min(axis=-1)
    first: Array = choices[:, 0, 0]
    return first


def half_stretches(visits: int) -> Array:
    """Ages, in stretches, that a part replaced at or between visits can have: 0, ½, 1 …"""
    return np.arange(2 * visits) / 2


def _stretch(body: PartAhead, stem: PartAhead, ahead: Array, visit: int) -> Array:
    """Cost from just after a visit on, for each pair of states."""
    q_body, q_stem = body.at(visit)[:, :, None], stem.at(visit)[:, None, :]
    older = _older(ahead.shape[1])
    both_lived = ahead[:, older][:, :, older]
    body_failed = ahead[:, _HALF, :][:, None, older]
    stem_failed = ahead[:, :, _HALF][:, older, None]
    both_failed = ahead[:, _HALF, _HALF][:, None, None]
    cost: Array = (
        q_body * body.loss[:, None, None]
        + q_stem * stem.loss[:, None, None]
        + (1 - q_body) * ((1 - q_stem) * both_lived + q_stem * stem_failed)
        + q_body * ((1 - q_stem) * body_failed + q_stem * both_failed)
    )
    return cost


# States: 0 the part of today, 1 new, 2 half a stretch old, 3 one stretch old …
_NEW, _HALF = 1, 2


def _older(states: int) -> Array:
    """State one stretch later. The oldest cannot be reached before the end, and stay put."""
    later = np.minimum(np.arange(states) + 2, states - 1)
    later[0] = 0
    return later


def _choices(stretch: Array, price: Array) -> Array:
    """Cost of the four actions from each pair of states: (n_wheels, states, states, 4)."""
    new_body = np.broadcast_to(stretch[:, _NEW : _NEW + 1, :], stretch.shape)
    new_stem = np.broadcast_to(stretch[:, :, _NEW : _NEW + 1], stretch.shape)
    new_both = np.broadcast_to(stretch[:, _NEW, _NEW][:, None, None], stretch.shape)
    stacked = np.stack([stretch, new_body, new_stem, new_both], axis=-1)
    costs: Array = stacked + price[:, None, None, :]
    return costs
