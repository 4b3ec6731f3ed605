import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.planning.demand import Demand, TableSizes
from inventory.planning.fill_by_size import job_fill_by_size
from inventory.planning.interval import Interval
from inventory.planning.policy import reorder_point
from inventory.planning.whole_jobs import there_or_replaced, whole_job_fill
from tests.inventory.planning.simulated_jobs import Shop, play_jobs
from tests.soak import soak

PARTS, PATTERNS, LARGEST = 12, 20, 4
# Body 1 and stem 2 serve assembly 0, and so on; 4 is a universal sensor for 3 and 5.
INSTEAD = {
    0: [[(1, 1), (2, 1)]],
    3: [[(4, 1)]],
    5: [[(4, 1)]],
    6: [[(7, 1), (8, 1)]],
    7: [[(6, 1)]],
}


def random_jobs(rng):
    wanted = [rng.choice(PARTS, size=rng.integers(1, 5), replace=False) for _ in range(PATTERNS)]
    return [[(int(part), int(rng.choice([1, 1, 1, 2, 4]))) for part in needs] for needs in wanted]


def asked_of_parts(jobs, rates):
    """Asks a day of each part and the sizes of them, as its jobs bring them."""
    sizes = np.zeros((PARTS, LARGEST + 1))
    for needs, rate in zip(jobs, rates, strict=True):
        for part, pieces in needs:
            sizes[part, pieces] += rate
    rate = sizes.sum(axis=1)
    sizes[rate == 0, 1] = 1
    return Demand.of(rate, TableSizes.of(sizes / sizes.sum(axis=1, keepdims=True)))


def random_shop(rng, *, target, review_days, instead):
    """A shop that plans each part for itself, and the chance that so many of a part are there."""
    jobs, rates = random_jobs(rng), rng.gamma(1.0, 0.15, PATTERNS)
    lead, quantity = rng.integers(1, 8, PARTS).astype(float), rng.choice([1, 2, 4], PARTS)
    demand = asked_of_parts(jobs, rates)
    interval = Interval.of(lead, review_days=np.full(PARTS, review_days))
    rule = {"order_quantity": quantity, "law": np.arange(PARTS)}
    goal = np.clip(rng.normal(target, 0.03, PARTS), 0.6, 0.995)
    point = reorder_point(demand, interval, target=goal, **rule).reorder_point
    fill = job_fill_by_size(demand, interval, reorder_point=point, largest=LARGEST, **rule)
    shop = Shop(
        jobs=jobs,
        rates=rates.tolist(),
        points=point.tolist(),
        quantities=quantity.tolist(),
        lead_days=lead.tolist(),
        review_days=review_days,
        instead=instead,
    )
    return shop, fill


def reckoned(shop, fill):
    needs = [(job, *need) for job, needs in enumerate(shop.jobs) for need in needs]
    job, part, pieces = np.array(needs).T
    there = fill[part, pieces]
    ways = [
        (row, np.prod([fill[member, each * need[2]] for member, each in way]))
        for row, need in enumerate(needs)
        for way in shop.instead.get(need[1], [])
    ]
    if ways:
        row, chance = zip(*ways, strict=True)
        there = there_or_replaced(there, instead_of=row, instead_there=chance)
    return whole_job_fill(there, job=job, jobs=len(shop.jobs)).fill


def errors(instead, targets):
    """Reckoned less played whole-job fill of several shops, over all their jobs."""
    found = []
    for target in targets:
        for review_days in (0.0, 7.0):
            for seed in range(soak(1, 12)):
                rng = np.random.default_rng([seed, round(1000 * target), int(review_days)])
                shop, fill = random_shop(
                    rng, target=target, review_days=review_days, instead=instead
                )
                played = play_jobs(rng, shop, jobs=soak(15_000, 50_000))
                share = np.array(shop.rates) / sum(shop.rates)
                found.append(share @ reckoned(shop, fill) - played.whole.sum() / played.asked.sum())
    return np.array(found)


class TestThereOrReplaced:
    def test_body_and_stem_or_a_universal_sensor_for_an_assembly(self):
        # By hand: missing only if it is missing, body or stem is, and the universal one is.
        found = there_or_replaced([0.9, 0.8], instead_of=[0, 0], instead_there=[0.7 * 0.5, 0.6])
        assert found == pytest.approx([1 - 0.1 * 0.65 * 0.4, 0.8])

    def test_nothing_instead_leaves_it_as_it_is(self):
        found = there_or_replaced([0.25, 0.0], instead_of=[], instead_there=[])
        assert found.tolist() == [0.25, 0]

    def test_refuses_a_way_for_nothing_and_a_chance_above_1(self):
        with pytest.raises(ValueError, match=r"^each way must serve one of 1 needs; got 1$"):
            there_or_replaced([0.5], instead_of=[1], instead_there=[0.5])
        with pytest.raises(
            ValueError, match=r"^chance that a part is there must be at most 1; got 1.5$"
        ):
            there_or_replaced([1.5], instead_of=[], instead_there=[])


class TestWholeJobFill:
    def test_of_independent_shelves_is_their_product_by_counting(self):
        # Every state of three shelves, weighed by its chance.
        there = np.array([0.9, 0.5, 0.2])
        states = np.array(np.meshgrid(*[[0, 1]] * 3)).reshape(3, -1).T
        weight = np.prod(np.where(states, there, 1 - there), axis=1)
        found = whole_job_fill(there, job=[0, 0, 0], jobs=1)
        assert found.fill[0] == pytest.approx(weight[states.all(axis=1)].sum())
        for part in range(3):
            only = (states.sum(axis=1) == 2) & (states[:, part] == 0)
            assert found.waits_only_for[part] == pytest.approx(weight[only].sum())

    def test_a_part_that_is_never_there_is_what_its_job_waits_for(self):
        found = whole_job_fill([0.0, 0.9, 0.0, 0.0], job=[0, 0, 1, 1], jobs=3)
        assert found.fill == pytest.approx([0, 0, 1], abs=1e-9)
        assert found.waits_only_for == pytest.approx([0.9, 0, 0, 0], abs=1e-9)

    @given(st.lists(st.floats(0, 1), min_size=1, max_size=8))
    def test_is_at_most_the_least_of_its_parts(self, there):
        found = whole_job_fill(there, job=[0] * len(there), jobs=1)
        assert found.fill[0] <= min(there) + 1e-9
        assert found.fill[0] + found.waits_only_for.sum() <= 1 + 1e-9

    def test_refuses_a_job_that_is_not_there(self):
        with pytest.raises(ValueError, match=r"^each need must be of one of 1 jobs; got 1$"):
            whole_job_fill([0.5], job=[1], jobs=1)

    def test_errs_below_a_shop_played_job_by_job(self):
        error = errors({}, (0.8, 0.9, 0.95, 0.98))
        assert error.max() < 0.01
        assert error.min() > -0.07
        assert -0.02 < error.mean() < 0

    def test_errs_little_where_one_part_takes_the_place_of_another(self):
        error = errors(INSTEAD, (0.9, 0.95, 0.98))
        assert error.max() < 0.09
        assert error.min() > -0.02
        assert abs(error.mean()) < 0.02
