import numpy as np
import pytest
from scipy import integrate

from inventory.planning.interval import Interval


class TestInterval:
    def test_moments_of_a_mixed_law_are_those_of_its_samples(self):
        rng = np.random.default_rng(1)
        lead = rng.choice([1.0, 4.0, 9.0], p=[0.5, 0.3, 0.2], size=400_000)
        sample = lead + rng.uniform(0, 7, 400_000)
        found = Interval.from_days({"1": 0.5, "4": 0.3, "9": 0.2}, review_days=7)
        assert found.mean_days[0] == pytest.approx(sample.mean(), rel=0.005)
        assert found.variance_days[0] == pytest.approx(sample.var(), rel=0.01)
        assert found.spread_days[0] == 15.0

    @pytest.mark.parametrize("count", [4, 8, 16])
    def test_nodes_integrate_a_smooth_function_as_quadrature_does(self, count):
        found = Interval.from_days({"1": 0.5, "4": 0.3, "9": 0.2}, review_days=7)
        days, weights = found.nodes(count)
        exact = sum(
            chance * integrate.quad(lambda wait, lead=lead: np.exp(-0.05 * (lead + wait)), 0, 7)[0]
            for lead, chance in ((1, 0.5), (4, 0.3), (9, 0.2))
        )
        assert weights[0] @ np.exp(-0.05 * days[0]) == pytest.approx(exact / 7, abs=1e-9)
        assert weights[0].sum() == pytest.approx(1)
        assert (days >= 0).all()

    def test_few_atoms_are_kept_as_they_are(self):
        days, weights = Interval.from_days({"2": 0.25, "5": 0.75}).nodes(4)
        assert sorted(set(days[0])) == [2, 5]
        assert weights[0][days[0] == 5].sum() == 0.75

    @pytest.mark.parametrize(
        ("make", "sentence"),
        [
            (lambda: Interval.of([-1.0]), "lead time in days must not be negative; got -1"),
            (
                lambda: Interval.of([[1, 2]], [[0.5, 0.4]]),
                "chances of the lead times must sum to 1; got 0.9",
            ),
            (
                lambda: Interval.of([1.0], review_days=float("nan")),
                "review days must be finite numbers; got nan",
            ),
        ],
    )
    def test_refuses_at_the_door(self, make, sentence):
        with pytest.raises(ValueError, match=f"^{sentence}$"):
            make()
