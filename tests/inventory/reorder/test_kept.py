from dataclasses import replace

import numpy as np
import pytest

from inventory.planning.classes import classes
from inventory.planning.demand import Demand, TableSizes
from inventory.planning.policy import service_levels
from inventory.reorder.figures import plan_figures
from inventory.reorder.inputs.facts import Rows
from inventory.shop.models import ShelfGoal
from tests.inventory.reorder.test_figures import make_facts

DEAR = {"unit_cents": 90_000, "lost_cents": 20}
"""Of a part so dear, and so little missed, that the plan does not keep it."""


def with_goals(facts, **goals):
    return replace(facts, goals=replace(facts.goals, **goals))


def points(facts):
    return plan_figures(facts).policy.reorder_point.tolist()


class TestOwnGoals:
    def test_a_percent_of_its_own_is_kept_though_not_worth_it(self):
        facts = make_facts(asks=[6, 6], **DEAR)
        assert points(facts) == [-1, -1]
        figures = plan_figures(with_goals(facts, own_target=np.array([0.9, np.nan])))
        assert figures.policy.reorder_point[0] >= 0 > figures.policy.reorder_point[1]
        assert figures.policy.job_fill[0] >= 0.9
        assert figures.keeping_cents[0] > figures.serving_cents[0]
        assert figures.aims.target.tolist() == [0.9, 0.95]

    def test_a_percent_of_its_own_goes_before_the_shops(self):
        facts = make_facts(asks=[52, 52, 52])
        low, usual, high = points(with_goals(facts, own_target=np.array([0.5, np.nan, 0.99])))
        assert low < usual < high

    def test_at_least_so_many_are_kept_and_ordered_when_one_goes(self):
        facts = make_facts(asks=[1, 1], on_hand=[3, 4], **DEAR)
        figures = plan_figures(with_goals(facts, at_least=np.array([4, 4])))
        # Reordered at 3, so that there are never fewer than 4 here or on the way.
        assert figures.policy.reorder_point.tolist() == [3, 3]
        assert figures.packs[0] > 0 == figures.packs[1]

    def test_no_more_than_at_least_of_what_is_not_worth_keeping(self):
        facts = make_facts(asks=[120, 120], sizes=(0, 0.5, 0, 0, 0.5), **DEAR)
        by_target = points(with_goals(facts, own_target=np.array([0.95, np.nan])))
        assert by_target[0] > 0 > by_target[1]
        assert points(with_goals(facts, at_least=np.array([1, 0]))) == [0, -1]

    def test_at_least_does_not_lower_what_the_target_needs(self):
        facts = make_facts(asks=[300])
        assert points(with_goals(facts, at_least=np.array([1]))) == points(facts)

    def test_what_nobody_ever_asked_for_is_kept_when_somebody_says_so(self):
        facts = make_facts(asks=[0, 0, 0])
        goals = {"at_least": np.array([2, 0, 0]), "own_target": np.array([np.nan, 0.95, np.nan])}
        assert points(with_goals(facts, **goals)) == [1, 0, -1]

    def test_what_keeping_costs_is_told_of_the_number_kept(self):
        facts = make_facts(asks=[1, 1], **DEAR)
        few, many = plan_figures(
            with_goals(facts, at_least=np.array([1, 20]))
        ).keeping_cents.tolist()
        assert many > 5 * few

    def test_bought_when_asked_however_often_it_is_asked_for(self):
        facts = with_goals(make_facts(asks=[300, 300]), when_asked=np.array([True, False]))
        figures = plan_figures(facts)
        assert figures.policy.reorder_point[0] == -1 < figures.policy.reorder_point[1]
        assert np.isnan(figures.aims.target[0])

    def test_no_goal_keeps_what_was_superseded(self):
        facts = replace(make_facts(asks=[52, 52]), superseded=np.array([True, True]))
        goals = {"at_least": np.array([4, 0]), "own_target": np.array([np.nan, 0.99])}
        assert points(with_goals(facts, **goals)) == [-1, -1]


class TestByClass:
    def test_each_part_reaches_the_target_of_its_class(self):
        asks = [200, 60, 20, 8, 4, 0]
        facts = with_goals(
            make_facts(asks=asks),
            shelf=ShelfGoal.BY_CLASS,
            class_targets=(0.99, 0.9, 0.6),
        )
        figures = plan_figures(facts)
        margin = figures.asks_per_week * 365 / 7 * facts.worth.margin_cents
        assert figures.aims.margin_cents == pytest.approx(margin)
        assert figures.aims.number.tolist() == classes(margin).number.tolist()
        assert set(figures.aims.number.tolist()) == {0, 1, 2}
        assert figures.aims.target.tolist() == [
            (0.99, 0.9, 0.6)[number] for number in figures.aims.number
        ]
        asked = np.array(asks) > 0
        assert (figures.policy.job_fill >= figures.aims.target - 1e-9)[asked].all()

    def test_every_site_has_its_own_classes(self):
        facts = with_goals(make_facts(asks=[300, 300, 3, 3]), shelf=ShelfGoal.BY_CLASS)
        rows = Rows(part=np.array([1, 2, 3, 4]), site=np.array([1, 1, 2, 2]))
        assert (plan_figures(facts).aims.number > 0).tolist() == [False, False, True, True]
        assert plan_figures(replace(facts, rows=rows)).aims.number.tolist() == [0, 0, 0, 0]

    def test_its_own_percent_goes_before_its_class(self):
        goals = {"shelf": ShelfGoal.BY_CLASS, "own_target": np.array([0.7, np.nan])}
        figures = plan_figures(with_goals(make_facts(asks=[52, 52]), **goals))
        assert figures.aims.target.tolist() == [0.7, 0.97]


class TestCheapest:
    def cost_a_year(self, facts, figures, point, row):
        """Holding and misses at a reorder point, spelled out from the levels of `policy`."""
        worth = facts.worth
        demand = Demand.of(
            [figures.asks_per_week[row] / 7],
            TableSizes.of(figures.sizes[row]),
            rate_shape=figures.usage.rate.shape[row],
        )
        levels = service_levels(
            demand,
            facts.interval,
            order_quantity=figures.policy.order_quantity[row],
            levels=point + 40,
            law=[figures.law[row]],
        )
        asks = demand.asks_per_day[0] * 365
        pieces = demand.pieces_per_day[0] * 365
        missed = (1 - levels.job_fill[0]) * asks * (
            demand.sizes.mean[0] * worth.lost_cents[row] + worth.delay_cents
        ) + (1 - levels.unit_fill[0]) * pieces * worth.rush_cents[row]
        held = levels.mean_on_hand[0] * figures.unit_cost_cents[row] * worth.holding_rate
        return missed + held

    def test_no_other_reorder_point_costs_less(self):
        facts = make_facts(asks=[4, 30, 200], sizes=(0, 0.6, 0, 0, 0.4))
        worth = replace(facts.worth, rush_cents=np.full(3, 150.0), delay_cents=900.0)
        facts = replace(with_goals(facts, shelf=ShelfGoal.CHEAPEST), worth=worth)
        figures = plan_figures(facts)
        assert np.isnan(figures.aims.target).all()
        assert figures.aims.cheapest.all()
        for row, point in enumerate(figures.policy.reorder_point.tolist()):
            cost = self.cost_a_year(facts, figures, point, row)
            assert cost[point + 1] <= cost[1:].min() + 0.01

    def test_a_miss_that_costs_more_is_missed_less(self):
        fills = [
            plan_figures(
                with_goals(make_facts(asks=[52], lost_cents=cents), shelf=ShelfGoal.CHEAPEST)
            ).policy.job_fill[0]
            for cents in (700, 3_000, 50_000)
        ]
        assert fills[0] < fills[1] < fills[2]

    def test_a_rush_that_costs_more_is_avoided(self):
        facts = with_goals(make_facts(asks=[52], lost_cents=700), shelf=ShelfGoal.CHEAPEST)
        dear = replace(facts, worth=replace(facts.worth, rush_cents=np.array([9_000.0])))
        assert points(dear) > points(facts)

    def test_what_costs_nothing_to_hold_keeps_the_shops_target(self):
        facts = with_goals(make_facts(asks=[52], unit_cents=0), shelf=ShelfGoal.CHEAPEST)
        figures = plan_figures(facts)
        assert figures.aims.target.tolist() == [0.95]
        assert points(facts) == points(make_facts(asks=[52], unit_cents=0))

    def test_parts_with_a_percent_of_their_own_are_left_out_of_it(self):
        goals = {"shelf": ShelfGoal.CHEAPEST, "own_target": np.array([np.nan, 0.95])}
        facts = with_goals(make_facts(asks=[52, 52]), **goals)
        alone = with_goals(make_facts(asks=[52, 52]), shelf=ShelfGoal.CHEAPEST)
        assert points(facts) == [points(alone)[0], points(make_facts(asks=[52, 52]))[1]]

    def test_what_is_not_worth_keeping_is_bought_when_asked(self):
        facts = with_goals(make_facts(asks=[1, 60], **DEAR), shelf=ShelfGoal.CHEAPEST)
        assert points(facts) == [-1, -1]
