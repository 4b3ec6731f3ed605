import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from inventory.planning.demand import Demand, TableSizes
from inventory.planning.interval import Interval
from inventory.planning.lead_time import order_day_wait_chances, order_interval
from inventory.planning.policy import policy_service, reorder_point, service_levels
from tests.inventory.planning.simulated import play
from tests.inventory.planning.weekly import play_weekly, random_shops
from tests.soak import soak

BATCHES = [0, 0.6, 0, 0, 0.4]
MONDAYS = [True] + [False] * 6


def one(rate, sizes=BATCHES):
    return Demand.of([rate], TableSizes.of(sizes))


def played_and_reckoned(rng):
    """A random policy, reckoned and played: random sizes, lead times, order days, batches."""
    sizes = [0.0, *rng.dirichlet([2, 1, 0.3, 1.5]).tolist()]
    in_ten = rng.choice([0.0, 1.0, 2.0, 3.0, 5.0, 8.0, 13.0], size=10).tolist()
    rate, review = float(rng.uniform(0.1, 0.8)), float(rng.choice([0.0, 1.0, 7.0]))
    policy = {"reorder_point": int(rng.integers(-1, 15)), "order_quantity": int(rng.integers(1, 9))}
    exact = policy_service(
        one(rate, sizes), Interval.of([in_ten], np.full((1, 10), 0.1), review_days=review), **policy
    )
    played = play(
        rng,
        rate=rate,
        sizes=sizes,
        lead_days_in_ten=in_ten,
        review_days=review,
        days=200_000,
        **policy,
    )
    return exact, played


class TestPolicyService:
    def test_of_single_pieces_is_the_closed_form(self):
        # Poisson base stock (Palm): fill = P(D <= R), D ~ Poisson(rate × lead); scipy.stats.
        for rate, lead, point in ((0.3, 4.0, 2), (1.2, 1.0, 3), (0.05, 10.0, 0)):
            found = policy_service(
                one(rate, [0, 1.0]),
                Interval.of([lead]),
                reorder_point=[point],
                order_quantity=[1],
            )
            assert found.unit_fill[0] == pytest.approx(stats.poisson.cdf(point, rate * lead))
            assert found.job_fill[0] == pytest.approx(found.unit_fill[0])

    @pytest.mark.soak
    def test_agrees_with_a_shop_played_event_by_event(self):
        rng = np.random.default_rng(5)
        stock = []
        for _ in range(soak(3, 200)):
            exact, played = played_and_reckoned(rng)
            assert played.unit_fill == pytest.approx(exact.unit_fill[0], abs=0.01)
            assert played.job_fill == pytest.approx(exact.job_fill[0], abs=0.01)
            assert played.ready_rate == pytest.approx(exact.ready_rate[0], abs=0.01)
            assert played.mean_on_hand == pytest.approx(exact.mean_on_hand[0], rel=0.03, abs=0.02)
            stock.append((played.mean_on_hand, exact.mean_on_hand[0]))
        # One shop's stock still wanders by chance; that of all of them together does not.
        played_stock, exact_stock = np.sum(stock, axis=0)
        assert played_stock == pytest.approx(exact_stock, rel=0.01)

    @pytest.mark.soak
    def test_agrees_with_two_hundred_shops_that_order_once_a_week(self):
        rng, n = np.random.default_rng(7), 200
        shops = random_shops(rng, n)
        each = np.arange(n)
        exact = policy_service(
            Demand.of(shops.rate, TableSizes.of(shops.sizes, table=each)),
            order_interval(shops.lead, order_day_wait_chances([MONDAYS] * n)),
            reorder_point=shops.reorder_point,
            order_quantity=shops.order_quantity,
            law=each,
        )
        played = play_weekly(rng, shops, weeks=soak(20_000, 100_000))
        for name in ("unit_fill", "job_fill", "ready_rate"):
            assert np.abs(getattr(played, name) - getattr(exact, name)).max() <= 0.01, name
        # What chance leaves of a shelf's mean, in pieces, shrinks with the weeks played.
        left_to_chance = soak(3, 1) / 100
        off = np.abs(played.mean_on_hand - exact.mean_on_hand)
        assert (off <= 0.01 * exact.mean_on_hand + left_to_chance).all()
        assert played.mean_on_hand.sum() == pytest.approx(exact.mean_on_hand.sum(), rel=0.003)

    @pytest.mark.soak
    @settings(max_examples=soak(25, 300), deadline=None)
    @given(
        rate=st.floats(0.001, 3),
        lead=st.floats(0, 60),
        review=st.sampled_from([0.0, 7.0, 30.0]),
        quantity=st.integers(1, 12),
        point=st.integers(-1, 40),
    )
    def test_rises_with_the_reorder_point(self, rate, lead, review, quantity, point):
        found = policy_service(
            Demand.of([rate] * 2, TableSizes.of(BATCHES, table=[0, 0])),
            Interval.of([lead], review_days=review),
            reorder_point=[point, point + 1],
            order_quantity=[quantity] * 2,
        )
        for name in ("unit_fill", "job_fill", "ready_rate"):
            low, high = getattr(found, name)
            assert -1e-9 <= low <= high + 1e-9 <= 1 + 2e-9
        assert found.mean_on_hand[1] >= found.mean_on_hand[0] - 1e-9


class TestReorderPoint:
    @pytest.mark.parametrize("measure", ["ready_rate", "unit_fill", "job_fill"])
    @pytest.mark.parametrize("target", [0.5, 0.9, 0.98])
    def test_is_the_smallest_that_reaches_the_target(self, measure, target):
        rates = np.array([0.01, 0.1, 0.4, 2.0])
        demand = Demand.of(rates, TableSizes.of(BATCHES, table=[0] * 4))
        interval = Interval.from_days({"2": 0.5, "5": 0.5}, review_days=7)
        found = reorder_point(
            demand, interval, order_quantity=[4] * 4, target=target, measure=measure
        )
        levels = service_levels(demand, interval, order_quantity=[4] * 4, levels=80)
        table = getattr(levels, measure)
        brute = (table >= target - 1e-9).argmax(axis=1) - 1
        assert found.reorder_point.tolist() == brute.tolist()

    def test_batches_of_four_need_more_than_their_mean(self):
        # Ignoring batches of four misses a 95 % target by far: compare with single pieces.
        single = reorder_point(
            one(0.4, [0, 1.0]), Interval.of([5.0]), order_quantity=[1], target=0.95
        )
        fours = reorder_point(
            one(0.1, [0, 0, 0, 0, 1.0]), Interval.of([5.0]), order_quantity=[1], target=0.95
        )
        assert fours.reorder_point[0] > single.reorder_point[0]

    def test_serves_batches_of_four_as_often_as_it_says(self):
        """Played event by event; a point for as many single pieces would serve far fewer jobs."""
        rng = np.random.default_rng(9)
        interval = Interval.of([5.0], review_days=7)
        fours = [0, 0.25, 0, 0, 0.75]
        singles = reorder_point(one(0.325, [0, 1.0]), interval, order_quantity=[1], target=0.95)
        batches = reorder_point(one(0.1, fours), interval, order_quantity=[4], target=0.95)

        def served(point, quantity):
            return play(
                rng,
                rate=0.1,
                sizes=fours,
                lead_days_in_ten=[5.0] * 10,
                reorder_point=int(point),
                order_quantity=quantity,
                review_days=7.0,
                days=100_000,
            ).job_fill

        assert served(batches.reorder_point[0], 4) == pytest.approx(batches.job_fill[0], abs=0.01)
        assert served(batches.reorder_point[0], 4) >= 0.94
        assert served(singles.reorder_point[0], 1) < 0.88

    def test_a_part_nobody_asks_for_is_bought_when_asked(self):
        found = reorder_point(one(0.0), Interval.of([5.0]), order_quantity=[4], target=0.99)
        assert found.reorder_point[0] == -1
        assert np.isfinite(found.mean_on_hand[0])

    @pytest.mark.parametrize(
        ("rate", "lead"), [(0.0003, 0.0), (5700.0, 7.0), (1e-9, 400.0), (2.0, 0.0)]
    )
    def test_extremes_give_a_sane_answer(self, rate, lead):
        found = reorder_point(one(rate), Interval.of([lead]), order_quantity=[1], target=0.95)
        assert found.reorder_point[0] >= -1
        for name in ("unit_fill", "job_fill", "ready_rate", "mean_on_hand"):
            assert np.isfinite(getattr(found, name)[0])

    @pytest.mark.parametrize(
        ("given", "sentence"),
        [
            ({"target": 1.2}, "service target must be between 0 and 1; got 1.2"),
            ({"measure": "luck"}, "measure must be one of ready_rate, unit_fill, job_fill"),
            ({"order_quantity": [0]}, "order quantity"),
        ],
    )
    def test_refuses_at_the_door(self, given, sentence):
        usual = {"order_quantity": [1], "target": 0.9}
        with pytest.raises(ValueError, match=sentence):
            reorder_point(one(0.4), Interval.of([5.0]), **usual | given)
