"""Expected costs against the sum written out."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.replacement.actions import ACTIONS, PARTS, Action
from jobs.replacement.costs import expected_costs

NEW_PARTS = {
    Action.LEAVE: (),
    Action.RESEAL: ("seal",),
    Action.BODY: ("body", "seal"),
    Action.STEM: ("stem", "seal"),
    Action.ASSEMBLY: ("body", "stem", "seal"),
}
CHANCES = st.tuples(*[st.floats(0, 1)] * 3)
LOSSES, PRICES = st.tuples(*[st.floats(0, 200)] * 3), st.tuples(*[st.floats(0, 90)] * 5)


class TestExpectedCosts:
    @given(
        CHANCES, CHANCES, st.tuples(*[st.floats(0, 200)] * 3), st.tuples(*[st.floats(0, 90)] * 5)
    )
    def test_price_plus_chance_times_loss_of_each_part(self, kept, new, loss, price):
        answer = expected_costs(price, chance_kept=kept, chance_new=new, loss=loss)
        for row, action in enumerate(ACTIONS):
            expected = price[row]
            for column, part in enumerate(PARTS):
                chance = new if part in NEW_PARTS[action] else kept
                expected += chance[column] * loss[column]
            assert answer[row] == pytest.approx(expected)
