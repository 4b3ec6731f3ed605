import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.planning.demand import Demand, TableSizes
from inventory.planning.fill_by_size import job_fill_by_size
from inventory.planning.interval import Interval
from inventory.planning.overflow import overflow
from inventory.planning.policy import reorder_point
from inventory.planning.pooling import Streams, pooled
from tests.inventory.planning.simulated_jobs import Shop, play_jobs
from tests.soak import soak

SIZES = np.array([0, 0.6, 0.2, 0, 0.2])
WANTED = np.flatnonzero(SIZES)
SHARE, TARGET = 0.5, 0.95


def streams(rate, sizes=None):
    each = np.tile(SIZES, (len(rate), 1)) if sizes is None else sizes
    return Streams(asks_per_day=rate, rate_variance=np.zeros(len(rate)), sizes=each)


class Sensors:
    """Specific sensors, some of them kept, and the universal one that stands in for all."""

    def __init__(self, rng, *, specifics, kept, review_days):
        self.rate = np.append(rng.gamma(2, 0.02, specifics), rng.gamma(2, 0.03))
        self.universal, self.review_days = specifics, review_days
        self.lead = np.append(rng.integers(2, 8, specifics), 3).astype(float)
        self.law = np.arange(specifics + 1)
        self.interval = Interval.of(self.lead, review_days=np.full(specifics + 1, review_days))
        demand = Demand.of(self.rate, TableSizes.of(np.tile(SIZES, (specifics + 1, 1))))
        self.point = reorder_point(
            demand, self.interval, order_quantity=1, target=0.9, law=self.law
        ).reorder_point
        self.point[kept:-1] = -1
        fill = job_fill_by_size(
            demand,
            self.interval,
            reorder_point=self.point,
            order_quantity=1,
            largest=4,
            law=self.law,
        )
        fill[kept:-1] = 0
        self.sent = overflow(streams(self.rate[:-1]), fill_by_size=fill[:-1], share=SHARE)

    def universal_policy(self):
        """The universal sensor planned for its own asks and for those sent on to it."""
        own = streams(self.rate[-1:])
        all_streams = Streams(
            asks_per_day=np.append(self.sent.asks_per_day, own.asks_per_day),
            rate_variance=np.append(self.sent.rate_variance, own.rate_variance),
            sizes=np.vstack([self.sent.sizes, own.sizes]),
        )
        asked = pooled(all_streams, [0] * (self.universal + 1), shelves=1)
        demand = Demand.of(
            asked.asks_per_day, TableSizes.of(asked.sizes), rate_shape=asked.rate_shape
        )
        return reorder_point(
            demand, self.interval, order_quantity=1, target=TARGET, law=[self.universal]
        )

    def played(self, rng, point, *, owes, jobs):
        parts = range(self.universal + 1)
        shop = Shop(
            jobs=[[(part, int(size))] for part in parts for size in WANTED],
            rates=[self.rate[part] * SIZES[size] for part in parts for size in WANTED],
            points=[*self.point[:-1].tolist(), int(point)],
            quantities=[1] * len(parts),
            lead_days=self.lead.tolist(),
            review_days=self.review_days,
            instead={part: [[(self.universal, 1)]] for part in parts[:-1]},
            share=SHARE,
            owes=owes,
        )
        played = play_jobs(rng, shop, jobs=jobs)
        asked = played.wanted[-1] + played.sent[-1]
        days = jobs / self.rate.sum()
        return played.sent[-1] / days, (played.itself[-1] + played.served[-1]) / asked


class TestOverflow:
    def test_of_a_part_that_is_bought_when_asked_is_all_that_would_take_the_other(self):
        asked = Streams(
            asks_per_day=np.array([2.0]), rate_variance=np.array([0.5]), sizes=SIZES[None]
        )
        sent = overflow(asked, fill_by_size=np.zeros((1, 5)), share=0.25)
        # A known share of a rough rate: variance w² v, and the sizes as they were.
        assert sent.asks_per_day.tolist() == [0.5]
        assert sent.rate_variance == pytest.approx([0.25**2 * 0.5])
        assert sent.sizes[0] == pytest.approx(SIZES)

    def test_large_asks_are_sent_on_more_often(self):
        fill = np.array([[1.0, 0.9, 0.8, 0.7, 0.5]])
        sent = overflow(streams(np.array([1.0])), fill_by_size=fill, share=1.0)
        # By hand: 0.6 × 0.1, 0.2 × 0.2 and 0.2 × 0.5 of 0.2.
        assert sent.asks_per_day == pytest.approx([0.2])
        assert sent.sizes[0] == pytest.approx([0, 0.3, 0.2, 0, 0.5])

    def test_a_part_that_is_always_there_sends_nothing_on(self):
        sent = overflow(streams(np.array([3.0])), fill_by_size=np.ones((1, 5)), share=1.0)
        assert (sent.asks_per_day[0], sent.rate_variance[0]) == (0, 0)
        assert sent.sizes[0] == pytest.approx(SIZES)

    @given(
        fill=st.lists(st.floats(0, 1), min_size=5, max_size=5),
        rate=st.floats(0, 20),
        variance=st.floats(0, 20),
        share=st.floats(0, 1),
    )
    def test_sends_on_no_more_than_is_asked(self, fill, rate, variance, share):
        asked = Streams(
            asks_per_day=np.array([rate]), rate_variance=np.array([variance]), sizes=SIZES[None]
        )
        sent = overflow(asked, fill_by_size=[fill], share=share)
        assert 0 <= sent.asks_per_day[0] <= rate * share + 1e-9
        assert sent.rate_variance[0] >= 0
        assert sent.sizes.sum() == pytest.approx(1)

    def test_refuses_chances_above_1_and_sizes_that_differ(self):
        asked = streams(np.array([1.0]))
        with pytest.raises(ValueError, match=r"^fills and shares must be at most 1$"):
            overflow(asked, fill_by_size=np.ones((1, 5)), share=1.5)
        with pytest.raises(ValueError, match=r"^fills are for \(1, 3\) sizes, asks for \(1, 5\)$"):
            overflow(asked, fill_by_size=np.ones((1, 3)), share=1.0)

    @pytest.mark.parametrize("owes", [True, False])
    def test_agrees_with_sensors_played_ask_by_ask(self, owes):
        """Too much is sent on where a customer who finds nothing leaves, never too little."""
        sent, fill = [], []
        for specifics, kept in ((1, 1), (6, 6), (6, 3), (20, 10)):
            for review_days in (0.0, 7.0):
                rng = np.random.default_rng([specifics, kept, int(review_days)])
                sensors = Sensors(rng, specifics=specifics, kept=kept, review_days=review_days)
                policy = sensors.universal_policy()
                a_day, filled = sensors.played(
                    rng, policy.reorder_point[0], owes=owes, jobs=soak(30_000, 300_000)
                )
                sent.append(sensors.sent.asks_per_day.sum() / a_day)
                fill.append(filled - policy.job_fill[0])
                if kept < specifics:
                    bare = reorder_point(
                        Demand.of(sensors.rate[-1:], TableSizes.of(SIZES)),
                        sensors.interval,
                        order_quantity=1,
                        target=TARGET,
                        law=[specifics],
                    )
                    _, without = sensors.played(
                        rng, bare.reorder_point[0], owes=owes, jobs=soak(10_000, 100_000)
                    )
                    assert without < TARGET < filled
        assert min(sent) > 0.9
        assert max(sent) < 1.4
        assert min(fill) > -0.01
        assert max(fill) < 0.03
