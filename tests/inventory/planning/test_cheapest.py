import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from inventory.planning.cheapest import cheapest_reorder_point
from inventory.planning.demand import Demand, TableSizes
from inventory.planning.interval import Interval
from inventory.planning.policy import service_levels
from tests.soak import soak

ONES, FOURS, BATCHES = [0, 1.0], [0, 0, 0, 0, 1.0], [0, 0.6, 0, 0, 0.4]
INTERVAL = Interval.from_days({"2": 0.5, "5": 0.5}, review_days=7)


def one(rate, sizes=ONES, shape=np.inf):
    return Demand.of([rate], TableSizes.of(sizes), rate_shape=shape)


def cost_of(found, demand, *, holding_cost, ask_cost=0.0, piece_cost=0.0, waiting_cost=0.0):
    """Cost a day of a policy or of all levels, spelled out from its published parts."""
    asks, pieces = demand.asks_per_day[:, None], demand.pieces_per_day[:, None]
    return (
        holding_cost * found.mean_on_hand
        + ask_cost * asks * (1 - found.job_fill)
        + piece_cost * pieces * (1 - found.unit_fill)
        + waiting_cost * found.mean_backorders
    )


class TestCheapestReorderPoint:
    def test_is_the_published_base_stock_of_poisson_demand(self):
        # h = 0.18, b = 0.70 of Snyder & Shen (2019), example 4.3, with Poisson demand of mean 50:
        # base stock 56 and cost 1.797235211809178 as published with the library stockpyl
        # (newsvendor_poisson, its worked example).
        costs = {"holding_cost": 0.18, "waiting_cost": 0.70}
        found = cheapest_reorder_point(one(50.0), Interval.of([1.0]), order_quantity=1, **costs)
        assert found.reorder_point.tolist() == [55]
        cost = 0.18 * found.mean_on_hand + 0.70 * found.mean_backorders
        assert cost[0] == pytest.approx(1.797235211809178, abs=1e-7)

    @pytest.mark.parametrize("ratio", [0.3, 0.5, 0.8, 0.95, 0.99, 0.999])
    def test_reaches_the_critical_ratio_of_waiting_and_holding(self, ratio):
        # Zipkin (2000), chapter 6: the smallest S with P(D <= S) >= b / (b + h); scipy.stats.
        for mean in (0.2, 1.0, 3.7, 20.0):
            found = cheapest_reorder_point(
                one(mean),
                Interval.of([1.0]),
                order_quantity=1,
                holding_cost=1 - ratio,
                waiting_cost=ratio,
            )
            assert found.reorder_point[0] + 1 == stats.poisson.ppf(ratio, mean)

    def test_a_cost_an_ask_is_weighed_piece_by_piece(self):
        # Single pieces, base stock S: one more saves a n P(D = S) a day and costs h P(D <= S), by
        # the differences of P(D < S) and of E[(S - D)+]; their ratio falls in S. scipy.stats.
        ask, holding, rate, lead = 20.0, 0.02, 0.4, 5.0
        s = np.arange(60)
        dear = holding * stats.poisson.cdf(s, rate * lead)
        saved = ask * rate * stats.poisson.pmf(s, rate * lead)
        found = cheapest_reorder_point(
            one(rate), Interval.of([lead]), order_quantity=1, holding_cost=holding, ask_cost=ask
        )
        assert found.reorder_point[0] + 1 == (dear >= saved).argmax() == 8

    @pytest.mark.soak
    @settings(max_examples=soak(25, 400), deadline=None)
    @given(
        rates=st.lists(st.floats(0.002, 2.0), min_size=3, max_size=3),
        sizes=st.sampled_from([ONES, FOURS, BATCHES]),
        shape=st.sampled_from([0.7, 6.0, np.inf]),
        quantity=st.integers(1, 12),
        holding=st.floats(0.001, 1.0),
        ask=st.floats(0, 60),
        piece=st.floats(0, 20),
        waiting=st.floats(0, 3),
    )
    def test_no_other_point_costs_less(
        self, rates, sizes, shape, quantity, holding, ask, piece, waiting
    ):
        demand = Demand.of(rates, TableSizes.of(sizes, table=[0] * 3), rate_shape=shape)
        costs = {
            "holding_cost": holding,
            "ask_cost": ask,
            "piece_cost": piece,
            "waiting_cost": waiting,
        }
        found = cheapest_reorder_point(demand, INTERVAL, order_quantity=quantity, **costs)
        highest = int(found.reorder_point.max())
        levels = service_levels(demand, INTERVAL, order_quantity=quantity, levels=2 * highest + 60)
        least = cost_of(levels, demand, **costs).min(axis=1)
        at = (np.arange(3), found.reorder_point + 1)
        chosen = cost_of(levels, demand, **costs)[at]
        # A miss in a million is taken for none, and so are equals but for rounding.
        asks, pieces = demand.asks_per_day, demand.pieces_per_day
        blur = 1e-6 * (1 + ask * asks + piece * pieces + waiting * (highest + quantity))
        assert (chosen <= least + blur).all()

    def test_of_batches_a_second_valley_is_not_missed(self):
        # Asks for four: one or two pieces more fill nobody's job, four do; a search that stops at
        # the first rise would never leave -1.
        costs = {"holding_cost": 0.05, "ask_cost": 30.0}
        demand = one(0.1, FOURS)
        found = cheapest_reorder_point(demand, INTERVAL, order_quantity=1, **costs)
        levels = service_levels(demand, INTERVAL, order_quantity=1, levels=80)
        cost = cost_of(levels, demand, **costs)[0]
        assert cost[1] > cost[0]
        assert found.reorder_point[0] == cost.argmin() - 1 > 0

    def test_rises_as_a_miss_costs_more_and_falls_as_holding_does(self):
        def at(**costs):
            given = {"holding_cost": 0.02, "ask_cost": 10.0} | costs
            found = cheapest_reorder_point(one(0.4, BATCHES), INTERVAL, order_quantity=4, **given)
            return int(found.reorder_point[0])

        assert at(ask_cost=1.0) < at() < at(ask_cost=200.0)
        assert at(holding_cost=0.2) < at() < at(holding_cost=0.001)

    def test_where_a_miss_costs_nothing_it_is_bought_when_asked(self):
        found = cheapest_reorder_point(one(0.4), INTERVAL, order_quantity=1, holding_cost=0.1)
        assert found.reorder_point.tolist() == [-1]

    @pytest.mark.parametrize(
        ("rate", "holding", "ask"),
        [(0.0, 0.1, 50.0), (1e-9, 1e-6, 1e6), (5700.0, 0.01, 40.0), (3.0, 1e-7, 1e5)],
    )
    def test_extremes_give_a_sane_answer(self, rate, holding, ask):
        found = cheapest_reorder_point(
            one(rate, BATCHES, 8.0), INTERVAL, order_quantity=4, holding_cost=holding, ask_cost=ask
        )
        assert found.reorder_point[0] >= -1
        assert 0 <= found.job_fill[0] <= 1
        assert np.isfinite(found.mean_on_hand[0])

    @pytest.mark.parametrize(
        ("given", "sentence"),
        [
            ({"holding_cost": 0.0}, "holding cost must be above 0; got 0"),
            ({"ask_cost": -1.0}, "cost of an ask must not be negative; got -1"),
            ({"piece_cost": -2.0}, "cost of a piece must not be negative; got -2"),
            ({"waiting_cost": np.inf}, "cost of waiting must be finite numbers; got inf"),
            ({"order_quantity": 0}, "order quantity must be whole numbers of at least 1; got 0"),
        ],
    )
    def test_refuses_at_the_door(self, given, sentence):
        usual = {"order_quantity": 1, "holding_cost": 0.1}
        with pytest.raises(ValueError, match=sentence):
            cheapest_reorder_point(one(0.4), INTERVAL, **usual | given)
