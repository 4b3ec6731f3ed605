from itertools import combinations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inventory.reorder.models import PlanLine
from inventory.reorder.top_ups import top_up_of, top_ups


def waiting(number, *, position=4, price=1_000, asks=0.5, **facts):
    """A line that waits for its reorder point 2: two pieces of one ask each, every other week."""
    defaults = {"reorder_point": 2, "order_quantity": 1, "size_mean": 1, "pack": 1}
    defaults |= {"on_order": 0, "held": 0, "owed": 0}
    return PlanLine(
        pk=number, on_hand=position, asks=asks, pack_price_cents=price, **defaults | facts
    )


class TestTopUpOf:
    def test_costs_holding_until_it_would_be_due(self):
        # Two pieces above the reorder point at one in two weeks: due in 4 weeks. 10.00 held for
        # 4 of 52 weeks at 26 % a year is 0.20.
        found = top_up_of(waiting(1), 0.26)
        assert found
        assert (found.weeks_early, found.packs, found.value_cents) == (4, 1, 1_000)
        assert found.holding_cents == pytest.approx(20)

    def test_comes_in_whole_packs(self):
        found = top_up_of(waiting(1, order_quantity=8, pack=4, price=700), 0.25)
        assert found
        assert (found.packs, found.pieces, found.value_cents) == (2, 8, 1_400)

    @pytest.mark.parametrize(
        "facts",
        [
            {"reorder_point": -1},
            {"price": None},
            {"asks": 0.0},
            {"position": 40},  # due in 76 weeks
        ],
    )
    def test_leaves_out_what_nobody_should_buy_early(self, facts):
        assert top_up_of(waiting(1, **facts), 0.25) is None


class TestTopUps:
    def test_brings_forward_what_is_due_soonest(self):
        soon, late = waiting(1, position=3), waiting(2, position=9)
        found = top_ups(900, 1_500, [late, soon], 0.25)
        assert found
        assert [one.line for one in found.chosen] == [soon]
        assert found.freight_cents - found.holding_cents == found.saved_cents > 0

    def test_takes_as_many_as_it_needs(self):
        lines = [waiting(n, position=n + 2, price=400) for n in range(1, 5)]
        found = top_ups(1_000, 1_500, lines, 0.25)
        assert found
        assert [one.line.pk for one in found.chosen] == [1, 2, 3]

    def test_leaves_out_what_a_dearer_part_made_needless(self):
        small, large = waiting(1, position=3, price=100), waiting(2, position=4, price=2_000)
        found = top_ups(1_500, 1_500, [small, large], 0.25)
        assert found
        assert [one.line for one in found.chosen] == [large]

    def test_is_nothing_where_the_amount_cannot_be_reached(self):
        assert top_ups(5_000, 1_500, [waiting(1)], 0.25) is None

    def test_is_nothing_where_holding_costs_more_than_the_freight(self):
        assert top_ups(900, 5, [waiting(1, position=9)], 0.25) is None

    @settings(max_examples=60, suppress_health_check=[HealthCheck.too_slow])
    @given(
        st.lists(st.tuples(st.integers(3, 12), st.integers(50, 3_000)), min_size=1, max_size=6),
        st.integers(1, 6_000),
    )
    def test_reaches_the_amount_and_every_part_is_needed(self, lines, missing):
        waiting_lines = [waiting(n, position=p, price=c) for n, (p, c) in enumerate(lines, 1)]
        found = top_ups(missing, 10_000, waiting_lines, 0.25)
        if found is None:
            assert sum(price for _, price in lines) < missing
            return
        values = [one.value_cents for one in found.chosen]
        assert sum(values) >= missing
        assert all(sum(fewer) < missing for fewer in combinations(values, len(values) - 1))
