import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.planning.order_size import order_size
from tests.reference.planning import order_quantity_with_breaks


def cost(quantity, *, fixed, holding, demand, breaks, prices):
    price = prices[max(n for n, least in enumerate(breaks) if quantity >= least)]
    return price * demand + fixed * demand / quantity + holding * price * quantity / 2


class TestOrderSize:
    @settings(max_examples=60, deadline=None)
    @given(
        fixed=st.floats(1, 60),
        demand=st.floats(1, 800),
        second=st.integers(2, 90),
        saved=st.floats(0.01, 0.4),
        pack=st.integers(1, 12),
        minimum=st.integers(1, 40),
    )
    def test_is_the_cheapest_of_all_multiples_of_the_pack(
        self, fixed, demand, second, saved, pack, minimum
    ):
        given_ = {"breakpoints": [0, second], "unit_costs": [10.0, 10.0 * (1 - saved)]}
        found = order_quantity_with_breaks(
            fixed_cost=fixed,
            holding_rate=0.25,
            demand_rate=demand,
            pack=pack,
            minimum=minimum,
            **given_,
        )
        candidates = [n for n in range(pack, 3000, pack) if n >= minimum]
        brute = min(
            cost(
                n,
                fixed=fixed,
                holding=0.25,
                demand=demand,
                breaks=given_["breakpoints"],
                prices=given_["unit_costs"],
            )
            for n in candidates
        )
        assert found["quantity"] % pack == 0
        assert found["quantity"] >= minimum
        assert found["cost_per_year"] == pytest.approx(brute)

    def test_is_reckoned_for_many_parts_at_once(self):
        many = order_size(
            fixed_cost=[8.0, 8.0],
            holding_rate=[0.3, 0.3],
            demand_per_year=[1300.0, 13.0],
            from_quantity=[[0, 400, 800]] * 2,
            unit_cost=[[0.75, 0.72, 0.68]] * 2,
            pack=[1, 1],
            minimum=[1, 1],
        )
        # Snyder & Shen (2019), example 3.5, for the first.
        assert many.quantity[0] == 800
        assert np.isfinite(many.cost_per_year).all()
