import numpy as np
import pytest

from inventory.planning.demand import Demand, TableSizes
from inventory.planning.interval import Interval
from inventory.planning.policy import policy_service
from inventory.planning.replay import PastAsks, Rules, replay


def rules(point, quantity=1, first_day=0, law=0):
    one = [np.array([value]) for value in (point, quantity, law)]
    return Rules(first_day=first_day, reorder_point=one[0], order_quantity=one[1], law=one[2])


def asks(*told):
    """(day, pieces) of one part."""
    day, pieces = zip(*told, strict=True)
    return PastAsks(
        part=np.zeros(len(day), dtype=np.int64), day=np.array(day), pieces=np.array(pieces)
    )


def played(start, told, rule, wait=(0, 1.0), n_days=8):
    every = rule if isinstance(rule, list) else [rule]
    return replay(
        np.array([start]),
        told,
        every,
        np.array([wait]),
        n_days=n_days,
        rng=np.random.default_rng(3),
    )


class TestReplay:
    def test_a_day_worked_by_hand(self):
        # Two there, reorder at 1 in twos, two days' wait. Day 0: 2 asked, filled, order 2. Day 1: 1
        # asked, nothing there; nothing more is ordered, for 2 are coming. Day 2 opens with 2.
        found = played(2, asks((0, 2), (1, 1), (2, 2)), rules(1, 2), wait=(0, 0, 1.0), n_days=4)
        assert found.had.tolist() == [2, 0, 2]
        assert found.filled.tolist() == [True, False, True]
        assert found.on_hand.tolist() == [[0, 0, 0, 0]]

    def test_takes_what_is_there_when_it_is_too_little(self):
        found = played(3, asks((0, 4)), rules(-1), n_days=1)
        assert (found.had[0], found.filled[0], found.on_hand[0, 0]) == (3, False, 0)

    def test_bought_when_asked_orders_nothing(self):
        assert played(0, asks((0, 1)), rules(-1)).on_hand.sum() == 0

    def test_orders_whole_quantities_until_above_the_point(self):
        found = played(0, asks((7, 1)), rules(4, 3), n_days=8)
        assert found.on_hand[0, 1] == 6

    def test_rules_hold_from_their_day_on(self):
        later = [rules(-1), rules(1, first_day=3)]
        found = played(0, asks((7, 1)), later)
        assert found.on_hand[0].tolist() == [0, 0, 0, 0, 2, 2, 2, 1]

    def test_serves_as_often_as_the_exact_policy_says(self):
        # The formulas of `policy` are held against their own simulation; here they are the twin.
        # Service so high that lost and waiting asks hardly differ.
        rng = np.random.default_rng(7)
        n, days, rate = 6, 12_000, np.linspace(0.05, 0.6, 6)
        sizes = np.array([0, 0.6, 0.0, 0.0, 0.4])
        count = rng.poisson(rate[:, None], (n, days))
        part, day = np.nonzero(count)
        part, day = np.repeat(part, count[part, day]), np.repeat(day, count[part, day])
        order = np.argsort(day, kind="stable")
        told = PastAsks(part=part[order], day=day[order], pieces=rng.choice(5, len(day), p=sizes))
        point, quantity = np.array([4, 5, 7, 9, 10, 12]), np.full(n, 4)
        rule = Rules(
            first_day=0, reorder_point=point, order_quantity=quantity, law=np.zeros(n, dtype=int)
        )
        found = replay(point, told, [rule], np.array([[0, 0, 0.5, 0, 0.5]]), n_days=days, rng=rng)
        # An order leaves at the end of a day, half a day after an ask on average.
        exact = policy_service(
            Demand.of(rate, TableSizes.of(sizes, np.zeros(n, dtype=int))),
            Interval.from_days({"1.5": 0.5, "3.5": 0.5}),
            reorder_point=point,
            order_quantity=quantity,
        )
        for row in range(n):
            share = found.filled[told.part == row].mean()
            assert share == pytest.approx(exact.job_fill[row], abs=0.03)

    @pytest.mark.parametrize(
        ("told", "rule", "words"),
        [
            (asks((3, 1), (1, 1)), rules(1), "asks must be in the order of their days"),
            (asks((8, 1)), rules(1), "asks must fall on days 0 to 7; got 8 to 8"),
            (asks((1, 1)), rules(1, first_day=2), "the first rules must hold from day 0 on"),
        ],
    )
    def test_refuses_what_cannot_be_played(self, told, rule, words):
        with pytest.raises(ValueError, match=words):
            played(1, told, rule)
