"""The lifetime laws of this shop's families of parts, from its own records and the beliefs.

A family is a kind of piece by mounting and construction; a maker with records enough of its own
makes a family apart. All families of the shop tell each other its common offset.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np

from jobs.replacement.lives import NO_LIVES, Lives
from jobs.replacement.pooling import shop_posteriors
from jobs.replacement.posterior import MOSTLY_ASSUMPTION_BELOW, Draws, Posterior, posterior
from jobs.replacement.priors import DEFAULT_PRIORS, Prior
from jobs.review.models import Belief
from jobs.workshop.lives import Event, Family, LifeRecord, lives_by_family
from jobs.workshop.models import PieceKind

ANY_MAKER = ""
FAMILIES_KEPT = 64


def belief_of(family: Family) -> str:
    """Which assumption a family starts from."""
    if family.kind != PieceKind.STEM:
        return family.kind
    return "rubber_stem" if family.mounting == "snap_in" else "metal_stem"


@dataclass(frozen=True, slots=True, kw_only=True)
class ShopLaws:
    """Posteriors by family; a maker of its own where it has enough records."""

    posteriors: Mapping[Family, Posterior]
    priors: Mapping[str, Prior]
    _drawn: dict[Family, Draws] = field(default_factory=dict)

    def family_of(self, kind: str, mounting: str, construction: str, maker: str) -> Family:
        """The narrowest family with a posterior of its own that this piece belongs to."""
        own = Family(kind, mounting, construction, maker)
        return own if own in self.posteriors else own._replace(maker=ANY_MAKER)

    def posterior(self, family: Family) -> Posterior:
        known = self.posteriors.get(family)
        if known is not None:
            return known
        return shop_posteriors({"": (NO_LIVES, self.priors[belief_of(family)])})[""]

    def draws(self, family: Family) -> Draws:
        """Drawn once for all wheels of a page."""
        if family not in self._drawn:
            self._drawn[family] = self.posterior(family).draws()
        return self._drawn[family]


def shop_laws(
    lives: Mapping[Family, list[LifeRecord]] | None = None,
    priors: Mapping[str, Prior] | None = None,
) -> ShopLaws:
    """Every family's posterior, in one pass over the records."""
    grouped = families(lives_by_family() if lives is None else lives)
    priors = shop_priors() if priors is None else priors
    told = {
        "|".join(family): (as_lives(records), priors[belief_of(family)])
        for family, records in grouped.items()
    }
    found = shop_posteriors(told, fit=kept_posterior)
    return ShopLaws(
        posteriors={family: found["|".join(family)] for family in grouped}, priors=priors
    )


def shop_priors() -> dict[str, Prior]:
    return DEFAULT_PRIORS | {belief.kind: belief.prior() for belief in Belief.objects.all()}


def families(lives: Mapping[Family, list[LifeRecord]]) -> dict[Family, list[LifeRecord]]:
    """Makers with few records share a family; one with enough stands by itself."""
    grouped: defaultdict[Family, list[LifeRecord]] = defaultdict(list)
    for family, records in lives.items():
        enough = len(records) >= MOSTLY_ASSUMPTION_BELOW
        grouped[family if enough else family._replace(maker=ANY_MAKER)] += records
    return dict(grouped)


def as_lives(records: Sequence[LifeRecord]) -> Lives:
    events = [record.event for record in records]
    return Lives(
        entry=np.array([record.entry for record in records], dtype=np.float64),
        last_good=np.array([record.last_good for record in records], dtype=np.float64),
        exit=np.array([record.exit for record in records], dtype=np.float64),
        failed=np.array([event is Event.FAILED for event in events], dtype=np.bool_),
        found=np.array([event is Event.FOUND_FAILED for event in events], dtype=np.bool_),
    )


def kept_posterior(lives: Lives, prior: Prior) -> Posterior:
    """The posterior of these very records: the same ones are weighed once in a process.

    Known by what they say and not by when they were read, so that nothing has to be told when a
    life changes: its family's records are then others.
    """
    told = (lives.entry, lives.last_good, lives.exit, lives.failed, lives.found)
    return _posterior_of(prior, *(array.tobytes() for array in told))


@lru_cache(maxsize=FAMILIES_KEPT)
def _posterior_of(
    prior: Prior, entry: bytes, last_good: bytes, exit_: bytes, failed: bytes, found: bytes
) -> Posterior:
    return posterior(
        Lives(
            entry=np.frombuffer(entry),
            last_good=np.frombuffer(last_good),
            exit=np.frombuffer(exit_),
            failed=np.frombuffer(failed, dtype=np.bool_),
            found=np.frombuffer(found, dtype=np.bool_),
        ),
        prior,
    )
