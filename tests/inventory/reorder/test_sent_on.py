from dataclasses import replace

import numpy as np
import pytest

from inventory.reorder.figures import plan_figures
from inventory.reorder.inputs.facts import StandIns
from tests.inventory.reorder.test_figures import make_facts

SIZES = (0, 0.6, 0.2, 0, 0.2)


def facts_with(pairs, *, share=0.5, **facts):
    """Rows of part-sites, and which of them (specific, universal) stand in for one another."""
    specific, universal = np.array(pairs).T
    return replace(
        make_facts(**facts),
        stand_ins=StandIns(specific=specific, universal=universal, share=share),
    )


def without(facts):
    none = np.zeros(0, dtype=np.int64)
    return replace(facts, stand_ins=StandIns(specific=none, universal=none, share=0.5))


class TestSentOn:
    def test_a_universal_part_serves_what_the_specific_ones_miss(self):
        facts = facts_with([(0, 2), (1, 2)], asks=[60, 40, 20], sizes=SIZES)
        alone, found = plan_figures(without(facts)), plan_figures(facts)
        sent = found.sent_per_week
        # The misses of all asks, of which half take the universal one.
        missed = alone.asks_per_week * (1 - alone.policy.job_fill)
        assert sent[:2].tolist() == [0, 0]
        assert sent[2] == pytest.approx(0.5 * missed[:2].sum(), rel=1e-6)
        assert found.asks_per_week == pytest.approx(alone.asks_per_week + sent)
        assert found.policy.reorder_point[2] >= alone.policy.reorder_point[2]
        assert found.size_mean[2] > alone.size_mean[2]

    def test_only_the_rows_of_universal_parts_change(self):
        facts = facts_with([(0, 2), (1, 2)], asks=[60, 40, 20, 30], sizes=SIZES)
        alone, found = plan_figures(without(facts)), plan_figures(facts)
        for name in ("asks_per_week", "rate_shape", "size_mean", "keeping_cents", "packs"):
            rows = [0, 1, 3]
            assert getattr(found, name)[rows].tolist() == getattr(alone, name)[rows].tolist()
        assert found.policy.reorder_point[3] == alone.policy.reorder_point[3]

    def test_parts_bought_when_asked_send_on_all_and_may_make_it_worth_keeping(self):
        # Each alone is too rare to keep; the universal part gathers the asks of twelve.
        asks = [2] * 12 + [0]
        facts = facts_with(
            [(row, 12) for row in range(12)],
            share=1.0,
            asks=asks,
            unit_cents=14_000,
            lost_cents=1_000,
        )
        alone, found = plan_figures(without(facts)), plan_figures(facts)
        assert (alone.policy.reorder_point == -1).all()
        assert found.sent_per_week[12] == pytest.approx(alone.asks_per_week[:12].sum())
        assert found.policy.reorder_point[12] >= 0

    def test_goes_to_the_first_that_is_kept(self):
        facts = facts_with([(0, 1), (0, 2)], asks=[60, 40, 40])
        when_asked = np.array([False, True, False])
        found = plan_figures(replace(facts, goals=replace(facts.goals, when_asked=when_asked)))
        assert found.policy.reorder_point[1] == -1
        assert found.sent_per_week[1] == 0 < found.sent_per_week[2]
        both = plan_figures(facts_with([(0, 2), (0, 1)], asks=[60, 40, 40]))
        assert both.sent_per_week[1] == 0 < both.sent_per_week[2]

    def test_nothing_goes_to_what_was_superseded(self):
        facts = facts_with([(0, 1)], asks=[60, 40])
        ended = replace(facts, superseded=np.array([False, True]))
        assert plan_figures(ended).sent_per_week.tolist() == [0, 0]
        assert plan_figures(facts).sent_per_week[1] > 0

    def test_nothing_comes_from_what_was_superseded(self):
        # Its asks are the newer part's, which sends on what it misses of them.
        facts = facts_with([(0, 2), (1, 2)], asks=[0, 60, 40])
        ended = replace(facts, superseded=np.array([True, False, False]))
        newer = facts_with([(1, 2)], asks=[0, 60, 40])
        found = plan_figures(ended)
        assert found.asks_per_week[0] == found.sends_per_week[0] == 0
        assert found.sent_per_week[2] == plan_figures(newer).sent_per_week[2]

    def test_every_part_tells_what_it_sends_on(self):
        facts = facts_with([(0, 2), (1, 2)], asks=[60, 40, 20], sizes=SIZES)
        found = plan_figures(facts)
        assert (found.sends_per_week[:2] > 0).all()
        assert found.sends_per_week[2] == 0
        assert found.sends_per_week.sum() == pytest.approx(found.sent_per_week.sum())

    def test_what_swings_is_known_less_well(self):
        facts = facts_with([(0, 1)], share=1.0, asks=[60, 6], sizes=SIZES)
        own = plan_figures(without(facts)).rate_shape[1]
        assert plan_figures(facts).rate_shape[1] < own
