"""How long the parts this shop sees last, family by family, and which fail early.

Reads and reckons; the laws are those behind every advice.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from inventory.catalog.models import Construction, Mounting
from inventory.templatetags.charts import Line, LineChart
from jobs.replacement.lives import NO_LIVES
from jobs.replacement.posterior import Posterior
from jobs.replacement.priors import Prior
from jobs.review.inputs.laws import ANY_MAKER, ShopLaws, belief_of, kept_posterior
from jobs.workshop.lives import Family
from jobs.workshop.models import PieceKind

EARLY_SURE = 0.99
LONGEST_PICTURE = range(5, 41)
_HALF = np.log(2.0)


def family_words(family: Family) -> str:
    """As the trade names it: what, on which valve, built how, by whom."""
    mounting = Mounting(family.mounting).label.lower() if family.mounting else ""
    built = Construction(family.construction).label.lower()
    maker = "makers with few records" if family.maker == ANY_MAKER else family.maker
    told = [PieceKind(family.kind).label, mounting, built, maker]
    return ", ".join(word for word in told if word)


@dataclass(frozen=True, kw_only=True)
class Lasting:
    """One family: its law as we know it, beside what was assumed before any record."""

    family: Family
    law: Posterior
    prior: Prior

    @property
    def name(self) -> str:
        """In an address."""
        return "|".join(self.family)

    @property
    def words(self) -> str:
        return family_words(self.family)

    @cached_property
    def assumed(self) -> Posterior:
        return kept_posterior(NO_LIVES, self.prior)

    @cached_property
    def half_life(self) -> tuple[float, float, float]:
        """Years by which half have failed: the middle of what is likely, and nine tenths of it."""
        low, middle, high, _ = self._half_lives
        return middle, low, high

    @cached_property
    def _half_lives(self) -> tuple[float, ...]:
        cloud = self.law.fine
        years = np.exp(cloud.log_scale) * _HALF ** np.exp(-cloud.log_shape)
        return cloud.quantiles(years, (0.05, 0.5, 0.95, EARLY_SURE))

    @property
    def assumed_half_life(self) -> float:
        shape = float(np.exp(self.prior.mean_log_shape))
        return float(np.exp(self.prior.mean_log_scale) * _HALF ** (1 / shape))

    @property
    def is_early(self) -> bool:
        """Whether half fail sooner than assumed, as good as surely: many families are looked at."""
        return self._half_lives[3] < self.assumed_half_life and not self.law.mostly_assumption

    @property
    def _years_shown(self) -> int:
        """Until one in five was assumed to be good still: beyond, the lines lie on the axis."""
        gone = (year for year in LONGEST_PICTURE if _mean_chance(self.assumed, year) > 0.8)
        return next(gone, LONGEST_PICTURE[-1])

    @property
    def picture(self) -> LineChart:
        ages = np.arange(self._years_shown + 1, dtype=float)
        mean, low, high = (100 * curve for curve in self.law.survival(ages))
        before = [100 * (1 - _mean_chance(self.assumed, age)) for age in ages]
        middle, least, most = self.half_life
        return LineChart(
            title=f"{self.words}: still good after so many years",
            description=(
                f"Half have failed by {middle:.1f} years, most likely between {least:.1f} and "
                f"{most:.1f}; assumed before: {self.assumed_half_life:.1f}."
            ),
            x_label="years since fitted",
            y_label="still good, %",
            y_top=100.0,
            lines=(
                Line(
                    label="what we know",
                    points=_points(ages, mean),
                    low_high=list(zip(low.round(1).tolist(), high.round(1).tolist(), strict=True)),
                ),
                Line(label="assumed before", points=_points(ages, np.array(before))),
            ),
        )


def _points(ages: np.ndarray, shares: np.ndarray) -> list[tuple[float, float]]:
    return list(zip(ages.tolist(), shares.round(1).tolist(), strict=True))


def _mean_chance(law: Posterior, years: float) -> float:
    return float(np.sum(law.chance_grid(0.0, years) * law.weight))


def lasting(laws: ShopLaws) -> list[Lasting]:
    """Every family with a record: early ones first, then by kind and by how many records."""
    found = [
        Lasting(family=family, law=law, prior=laws.priors[belief_of(family)])
        for family, law in laws.posteriors.items()
    ]
    kinds = list(PieceKind)
    return sorted(
        found,
        key=lambda one: (
            not one.is_early,
            kinds.index(PieceKind(one.family.kind)),
            -one.law.records,
        ),
    )


def chosen(families: Sequence[Lasting], name: str) -> Lasting | None:
    """The family asked for, else the one with the most failures of its own."""
    asked = next((one for one in families if one.name == name), None)
    return asked or max(families, key=lambda one: one.law.failures, default=None)
