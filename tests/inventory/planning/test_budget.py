import itertools

import numpy as np
import pytest
from scipy import stats

from tests.reference.planning import smallest_range, spend_budget, widest_cover


def backorders(mean, pieces):
    tail = np.arange(pieces + 1, 80)
    return float(((tail - pieces) * stats.poisson.pmf(tail, mean)).sum())


class TestSpendBudget:
    def test_no_other_spending_is_better(self):
        rng = np.random.default_rng(8)
        for _ in range(4):
            items = {
                name: {"pipeline": float(rng.uniform(0.3, 3)), "cost": float(rng.integers(15, 60))}
                for name in "ABC"
            }
            budget = float(rng.integers(80, 260))
            costs = [item["cost"] for item in items.values()]
            ranges = [range(int(budget // cost) + 1) for cost in costs]
            best = min(
                sum(
                    backorders(item["pipeline"], n)
                    for item, n in zip(items.values(), pieces, strict=True)
                )
                for pieces in itertools.product(*ranges)
                if sum(c * n for c, n in zip(costs, pieces, strict=True)) <= budget
            )
            found = spend_budget(items=items, budget=budget)
            assert found["expected_backorders"] == pytest.approx(best, abs=1e-6)


class TestRange:
    def test_is_the_smallest_and_the_widest(self):
        rng = np.random.default_rng(9)
        for _ in range(6):
            weights = rng.integers(1, 30, 8).tolist()
            parts = {
                str(n): sorted(rng.choice(8, rng.integers(1, 5), replace=False).tolist())
                for n in range(6)
            }

            def covered(chosen, parts=parts, weights=weights):
                return sum(weights[v] for v in set().union(*(parts[p] for p in chosen)))

            reach = covered(parts)
            share = 0.8 * reach / sum(weights)
            needed = min(
                n
                for n in range(7)
                for chosen in itertools.combinations(parts, n)
                if n and covered(chosen) >= share * sum(weights) - 1e-9
            )
            assert smallest_range(weights=weights, parts=parts, share=share)["parts_needed"] == (
                needed
            )
            widest = max(covered(chosen) for chosen in itertools.combinations(parts, 2))
            found = widest_cover(weights=weights, parts=parts, parts_allowed=2)
            assert found["covered_weight"] == pytest.approx(widest)
