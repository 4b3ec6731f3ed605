from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.planning.interval import Interval
from inventory.planning.order_size import order_size
from inventory.reorder.figures import cheapest_offer, packs_above, plan_figures
from inventory.reorder.inputs.facts import (
    WEEKS,
    Goals,
    History,
    Offers,
    PlanInputs,
    Rows,
    StandIns,
    Stock,
    Worth,
)
from inventory.shop.models import ShelfGoal

SUPPLIERS = 2


def make_facts(*, asks, sizes=(0, 1), on_hand=0, unit_cents=2_000, lost_cents=1_500, **stock):
    """Part-sites of one kind, each with two offers: a piece at a time, and a cheaper pack of 4.

    `asks` are asks in the last year, by part-site.
    """
    n = len(asks)
    occasions = np.zeros((n, WEEKS), dtype=np.int64)
    for row, count in enumerate(asks):
        occasions[row, np.linspace(WEEKS - 52, WEEKS - 1, count).astype(int)] += 1
    zeros = np.zeros(n, dtype=np.int64)
    levels = zeros + np.array(on_hand)
    by_size = np.outer(asks, sizes)
    return PlanInputs(
        as_of=date(2026, 3, 4),
        rows=Rows(part=np.arange(1, n + 1), site=np.ones(n, dtype=np.int64)),
        history=History(
            kinds=["kit"],
            occasions=occasions,
            exposure_days=np.full((n, WEEKS), 7),
            asks_by_size=by_size,
            kind=zeros,
            group=zeros,
            week_of_year=np.arange(WEEKS) % 52,
            coming_week=9,
            half_life_weeks=52.0,
            expected_mean=np.zeros(n),
            expected_variance=np.zeros(n),
            expected_days=182.0,
        ),
        stock=Stock(
            on_hand=levels,
            **{name: zeros + stock.get(name, 0) for name in ("on_order", "held", "owed", "older")},
        ),
        offers=Offers(
            pk=np.array([11, 12, 0]),
            supplier=np.array([0, 1, SUPPLIERS]),
            pack=np.array([1, 4, 1]),
            least_pieces=np.array([1, 4, 1]),
            from_pieces=np.zeros((3, 1)),
            unit_cents=np.array([[unit_cents], [0.9 * unit_cents], [0.0]]),
            fixed_cents=np.array([100.0, 100.0, 0.0]),
        ),
        first_offer=zeros,
        offer_count=zeros + 2,
        supplier=np.array([101, 102]),
        interval=Interval.of([2.0, 3.0, 5.0], review_days=1.4),
        worth=Worth(
            margin_cents=np.full(n, 4.0 * lost_cents),
            lost_cents=np.full(n, float(lost_cents)),
            rush_cents=np.zeros(n),
            delay_cents=0.0,
            line_cents=0.0,
            holding_rate=0.25,
        ),
        goals=Goals(
            shelf=ShelfGoal.ONE,
            target=0.95,
            class_targets=(0.97, 0.95, 0.90),
            own_target=np.full(n, np.nan),
            at_least=zeros,
            when_asked=np.zeros(n, dtype=np.bool_),
            told={},
        ),
        stand_ins=StandIns(specific=zeros[:0], universal=zeros[:0], share=0.5),
        superseded=np.zeros(n, dtype=np.bool_),
        notes=[""] * n,
    )


class TestPacksAbove:
    @given(
        position=st.integers(-50, 50),
        point=st.integers(-1, 40),
        pack=st.integers(1, 6),
        packs=st.integers(1, 4),
    )
    def test_orders_whole_quantities_until_above_the_reorder_point(
        self, position, point, pack, packs
    ):
        quantity, ordered, level = pack * packs, 0, position
        while level <= point:
            level += quantity
            ordered += packs
        one = np.array([position]), np.array([point]), np.array([quantity]), np.array([pack])
        assert packs_above(*one).tolist() == [ordered]


class TestCheapestOffer:
    def test_is_the_one_a_search_over_all_offers_finds(self):
        facts = make_facts(asks=[1, 6, 60], unit_cents=3_000)
        pieces = np.array([1.0, 6.0, 60.0])
        offer, size = cheapest_offer(facts, pieces)
        for row, demand in enumerate(pieces):
            costs = []
            for choice in (0, 1):
                found = order_size(
                    fixed_cost=facts.offers.fixed_cents[choice],
                    holding_rate=0.25,
                    demand_per_year=demand,
                    from_quantity=facts.offers.from_pieces[choice],
                    unit_cost=facts.offers.unit_cents[choice],
                    pack=facts.offers.pack[choice],
                    minimum=facts.offers.least_pieces[choice],
                )
                costs.append(found.cost_per_year[0])
            assert size.cost_per_year[row] == pytest.approx(min(costs))
            assert offer[row] == int(np.argmin(costs))

    def test_a_part_nobody_offers_has_nobodys_offer(self):
        facts = make_facts(asks=[5])
        nobody = replace(facts, first_offer=np.array([2]), offer_count=np.array([1]))
        offer, size = cheapest_offer(nobody, np.array([5.0]))
        assert (offer.tolist(), size.quantity.tolist()) == ([2], [1])


class TestPlanFigures:
    def test_reaches_the_target_and_orders_up_to_it(self):
        figures = plan_figures(make_facts(asks=[52, 26]))
        policy = figures.policy
        assert (policy.job_fill >= 0.95).all()
        assert (policy.reorder_point >= 0).all()
        lifted = figures.packs * figures.pack
        assert (lifted > policy.reorder_point).all()

    def test_enough_to_hand_orders_nothing(self):
        assert plan_figures(make_facts(asks=[52], on_hand=40)).packs.tolist() == [0]

    def test_what_is_coming_counts_and_what_is_promised_does_not(self):
        alone = plan_figures(make_facts(asks=[52], on_hand=40))
        coming = plan_figures(make_facts(asks=[52], on_order=40))
        promised = plan_figures(make_facts(asks=[52], on_hand=40, held=30, owed=10))
        assert coming.packs.tolist() == alone.packs.tolist() == [0]
        assert promised.packs[0] > 0

    def test_what_costs_more_to_keep_than_it_saves_is_bought_when_asked(self):
        figures = plan_figures(make_facts(asks=[1, 60], unit_cents=90_000, lost_cents=20))
        assert figures.policy.reorder_point.tolist() == [-1, -1]
        assert figures.packs.tolist() == [0, 0]
        assert (figures.serving_cents < figures.keeping_cents).all()

    def test_bought_when_asked_still_orders_what_is_owed(self):
        figures = plan_figures(make_facts(asks=[1], unit_cents=90_000, lost_cents=20, owed=2))
        assert figures.packs[0] * figures.pack[0] >= 2

    def test_what_was_superseded_is_kept_no_more_however_often_it_is_asked_for(self):
        facts = make_facts(asks=[52, 52])
        figures = plan_figures(replace(facts, superseded=np.array([True, False])))
        assert figures.policy.reorder_point[0] == -1 < figures.policy.reorder_point[1]
        assert figures.packs[0] == 0 < figures.packs[1]

    def test_older_ones_are_used_up_before_any_is_ordered(self):
        assert plan_figures(make_facts(asks=[52], older=40)).packs.tolist() == [0]

    def test_no_asks_at_all_is_a_sane_line(self):
        figures = plan_figures(make_facts(asks=[0, 0]))
        told = (figures.asks_per_week, figures.policy.job_fill, figures.keeping_cents)
        assert all(np.isfinite(values).all() for values in told)

    def test_the_order_of_the_parts_does_not_matter(self):
        asks = [3, 30, 0, 150]
        one, other = plan_figures(make_facts(asks=asks)), plan_figures(make_facts(asks=asks[::-1]))
        assert one.policy.reorder_point.tolist() == other.policy.reorder_point[::-1].tolist()
        assert one.policy.reorder_point[3] > one.policy.reorder_point[0]

    def test_what_the_vehicles_promise_stands_in_for_history(self):
        facts = make_facts(asks=[0, 0])
        history = replace(
            facts.history,
            exposure_days=np.zeros_like(facts.history.exposure_days),
            expected_mean=np.array([26.0, 0.0]),
            expected_variance=np.array([40.0, 0.0]),
        )
        figures = plan_figures(replace(facts, history=history))
        # 26 asks in 182 days are one a week; nothing seen moves it.
        assert figures.asks_per_week[0] == pytest.approx(1.0)

    def test_history_enough_is_not_overruled_by_what_the_vehicles_promise(self):
        facts = make_facts(asks=[60, 5])
        promised = replace(
            facts.history,
            expected_mean=np.array([0.1, 0.1]),
            expected_variance=np.array([0.1, 0.1]),
        )
        alone, together = plan_figures(facts), plan_figures(replace(facts, history=promised))
        assert together.asks_per_week[0] == alone.asks_per_week[0]
        assert together.asks_per_week[1] < alone.asks_per_week[1]
