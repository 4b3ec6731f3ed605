"""The days a shelf must bridge: the lead time, and the wait for the next look at the shelf.

An interval is a law over days, shared by all parts that are bought the same way. It is not the
place where lead times are learned from deliveries: see ``lead_time``.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import ArrayLike

from inventory.planning import checks
from inventory.planning.checks import FloatArray

FINE_NODES = 64


@dataclass(frozen=True, slots=True, kw_only=True)
class Interval:
    """Laws of the protection interval, one a row.

    Parameters
    ----------
    lead_time_days : (n_laws, n_atoms) float array, days from order to shelf
    chance : (n_laws, n_atoms) float array, each row sums to 1
    review_days : (n_laws,) float array, days between two looks at the shelf; 0 is continuous
    """

    lead_time_days: FloatArray
    chance: FloatArray
    review_days: FloatArray

    @classmethod
    def of(
        cls,
        lead_time_days: ArrayLike,
        chance: ArrayLike | None = None,
        *,
        review_days: ArrayLike = 0.0,
    ) -> Self:
        """Interval laws from checked lead times, or one certain lead time for each law.

        >>> Interval.of([30.0], review_days=30).mean_days
        array([45.])
        """
        days = checks.not_negative(lead_time_days, "lead time in days")
        days = days.reshape(-1, 1) if chance is None else np.atleast_2d(days)
        weight = np.ones_like(days) if chance is None else chance
        weight = np.broadcast_to(checks.chances(weight, "chances of the lead times"), days.shape)
        review = checks.not_negative(review_days, "review days")
        return cls(
            lead_time_days=days,
            chance=np.asarray(weight),
            review_days=np.broadcast_to(review, days.shape[:1]),
        )

    @classmethod
    def from_days(cls, chance_by_days: Mapping[str, float], *, review_days: float = 0.0) -> Self:
        """One law from a mapping of days to their chance.

        >>> Interval.from_days({"1": 0.5, "3": 0.5}).mean_days
        array([2.])
        """
        days = [float(day) for day in chance_by_days]
        return cls.of([days], [list(chance_by_days.values())], review_days=review_days)

    @property
    def mean_days(self) -> FloatArray:
        lead = (self.lead_time_days * self.chance).sum(axis=1)
        return np.asarray(lead + self.review_days / 2)

    @property
    def variance_days(self) -> FloatArray:
        mean = (self.lead_time_days * self.chance).sum(axis=1)
        square = (self.lead_time_days**2 * self.chance).sum(axis=1)
        return np.asarray(np.maximum(square - mean**2, 0) + self.review_days**2 / 12)

    @property
    def spread_days(self) -> FloatArray:
        """From the shortest to the longest interval that can happen."""
        longest = np.where(self.chance > 0, self.lead_time_days, 0).max(axis=1)
        shortest = np.where(self.chance > 0, self.lead_time_days, np.inf).min(axis=1)
        return np.asarray(longest - shortest + self.review_days)

    def nodes(self, count: int) -> tuple[FloatArray, FloatArray]:
        """Days and weights, (n_laws, count) each, of a Gauss rule for every law.

        sum_i w_i g(t_i) = E[g(T)] for every polynomial g of degree below 2·count.

        Source: Golub & Welsch (1969), Calculation of Gauss quadrature rules.

        >>> days, weights = Interval.of([4.0], review_days=6).nodes(4)
        >>> float((weights * days**3).sum().round(9))  # (10**4 - 4**4) / (4 * 6)
        406.0
        """
        wait = np.polynomial.legendre.leggauss(max(FINE_NODES, count))
        rules = [
            gauss_rule(*self._fine_nodes(law, *wait), count) for law in range(len(self.review_days))
        ]
        return np.stack([days for days, _ in rules]), np.stack([weight for _, weight in rules])

    def _fine_nodes(
        self, law: int, points: FloatArray, weights: FloatArray
    ) -> tuple[FloatArray, FloatArray]:
        """The law as atoms: lead times as they are, a uniform wait as a fine Gauss rule."""
        seen = self.chance[law] > 0
        lead, chance = self.lead_time_days[law][seen], self.chance[law][seen]
        if self.review_days[law] == 0:
            return lead, chance
        wait = self.review_days[law] * (points + 1) / 2
        return np.add.outer(lead, wait).ravel(), np.multiply.outer(chance, weights / 2).ravel()


def gauss_rule(days: FloatArray, weight: FloatArray, count: int) -> tuple[FloatArray, FloatArray]:
    """Few nodes that stand for many atoms; padded with weightless nodes when atoms are fewer."""
    if len(days) <= count:
        padding = (0, count - len(days))
        return np.pad(days, padding, mode="edge"), np.pad(weight, padding)
    diagonal, beside = jacobi_matrix(days, weight, count)
    nodes, vectors = np.linalg.eigh(np.diag(diagonal) + np.diag(beside, 1) + np.diag(beside, -1))
    share = vectors[0] ** 2
    return np.maximum(nodes, 0), share / share.sum()


def jacobi_matrix(
    days: FloatArray, weight: FloatArray, count: int
) -> tuple[FloatArray, FloatArray]:
    """Lanczos on the diagonal matrix of the atoms, with full reorthogonalisation."""
    centre, scale = days.mean(), max(float(np.ptp(days)), 1e-300)
    scaled = (days - centre) / scale
    basis = np.zeros((count, len(days)))
    diagonal, beside = np.zeros(count), np.zeros(count)
    basis[0] = np.sqrt(weight)
    for step in range(count):
        image = scaled * basis[step]
        diagonal[step] = image @ basis[step]
        for _ in range(2):
            image = image - (basis[: step + 1] @ image) @ basis[: step + 1]
        beside[step] = np.linalg.norm(image)
        if beside[step] < 1e-13 or step + 1 == count:
            return diagonal * scale + centre, beside[:-1] * scale
        basis[step + 1] = image / beside[step]
    return diagonal * scale + centre, beside[:-1] * scale
