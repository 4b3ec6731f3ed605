import itertools

import numpy as np
import pytest
from scipy import stats

from inventory.planning.budget import budget_plan, ladder, shelf_curve
from inventory.planning.demand import Demand, TableSizes
from inventory.planning.interval import Interval
from inventory.planning.policy import service_levels
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


@pytest.fixture(scope="module")
def steps():
    """Two thousand parts: what a reorder point costs on the shelf, and the asks it fills."""
    rng = np.random.default_rng(1)
    demand = Demand.of(
        rng.gamma(0.5, 0.1, 2000), TableSizes.of([0, 0.7, 0.1, 0, 0.2], table=[0] * 2000)
    )
    served = service_levels(
        demand, Interval.of([4.0], review_days=1.4), order_quantity=1, levels=30
    )
    cost = served.mean_on_hand * rng.uniform(2, 60, (2000, 1))
    return ladder(cost, served.job_fill * demand.asks_per_day[:, None])


class TestBudgetPlan:
    @pytest.mark.parametrize("share", [0.001, 0.01, 0.2])
    def test_of_two_thousand_parts_comes_near_the_bound(self, steps, share):
        budget = share * shelf_curve(steps).money[-1]
        plan = budget_plan(steps, budget=budget)
        assert plan.money <= budget
        least = steps.worth[:, 0].sum()
        assert plan.worth - least >= 0.995 * (plan.most_possible - least)

    def test_stays_below_the_bound_and_rises_with_the_money(self, steps):
        money = shelf_curve(steps).money[-1] * np.array([0.02, 0.1, 0.4, 1.0])
        plans = [budget_plan(steps, budget=budget, seconds=0) for budget in money]
        worth = [plan.worth for plan in plans]
        assert worth == sorted(worth)
        assert all(plan.worth <= plan.most_possible + 1e-9 for plan in plans)

    def test_refuses_less_than_the_least_levels_cost(self):
        with pytest.raises(
            ValueError, match=r"^budget must be at least 7, the cost of the least levels; got 5$"
        ):
            budget_plan(ladder([[7, 9]], [[0, 1]]), budget=5)


class TestLadder:
    def test_steps_of_a_part_fall_in_steepness(self):
        rng = np.random.default_rng(2)
        steps = ladder(rng.uniform(0, 5, (40, 9)).cumsum(1), rng.uniform(0, 5, (40, 9)).cumsum(1))
        steepness = steps.step_worth / steps.step_cost
        assert (np.diff(steepness) <= 1e-9).all()
        for part in range(40):
            own = steps.part == part
            assert (np.diff(steps.next_level[own]) > 0).all()
            assert (steps.level[own][1:] == steps.next_level[own][:-1]).all()

    def test_refuses_a_worth_that_falls(self):
        with pytest.raises(ValueError, match=r"^neither cost nor worth may fall from one level"):
            ladder([[0, 1]], [[1, 0]])
