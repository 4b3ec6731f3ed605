from dataclasses import replace

import numpy as np
import pytest

from inventory.reorder.figures import plan_figures
from inventory.reorder.inputs.facts import StandIns
from inventory.reorder.inputs.job_needs import JobNeeds
from inventory.reorder.job_fill import chance_on_shelf, job_fill
from tests.inventory.reorder.test_figures import make_facts

SITE, NO_RECIPES = 1, np.zeros((0, 3), dtype=np.int64)


def needs_of(*jobs):
    """(how often, {part: pieces}) at the one site of these facts; part n is row n - 1."""
    return JobNeeds(
        jobs=np.array([(SITE, times) for times, _ in jobs]),
        needs=np.array(
            [(row, part, n) for row, (_, parts) in enumerate(jobs) for part, n in parts.items()]
        ),
    )


@pytest.fixture(scope="module")
def facts():
    facts = make_facts(asks=[60, 40, 20, 30], sizes=(0, 0.7, 0.3))
    when_asked = np.array([False, False, False, True])
    return replace(facts, goals=replace(facts.goals, when_asked=when_asked))


@pytest.fixture(scope="module")
def figures(facts):
    return plan_figures(facts)


@pytest.fixture(scope="module")
def there(facts, figures):
    """The chance that so many of parts 1 to 3 are there; part 4 is bought when asked."""
    part, pieces = np.repeat([1, 2, 3], 5), np.tile(np.arange(5), 3)
    fill = chance_on_shelf(facts, figures, part, np.full(15, SITE), pieces).reshape(3, 5)
    return dict(zip((1, 2, 3), fill, strict=True))


class TestChanceOnShelf:
    def test_over_the_sizes_of_its_asks_it_is_the_job_fill_of_the_plan(self, figures, there):
        for row, part in enumerate(there):
            sizes = figures.sizes[row]
            fill = there[part][: len(sizes)] @ sizes
            assert fill == pytest.approx(figures.policy.job_fill[row], abs=1e-6)

    def test_more_pieces_are_there_less_often(self, there):
        assert all((np.diff(fill) <= 0).all() and fill[1] > fill[4] for fill in there.values())

    def test_what_the_plan_does_not_keep_or_know_is_never_there(self, facts, figures):
        chance = chance_on_shelf(
            facts, figures, np.array([4, 99]), np.array([SITE, SITE]), np.array([1, 1])
        )
        assert chance.tolist() == [0, 0]


class TestJobFill:
    def test_is_the_product_over_the_parts_of_a_job(self, facts, figures, there):
        needs = needs_of((3, {1: 4, 2: 1}), (1, {3: 2}))
        found = job_fill(facts, figures, needs, NO_RECIPES)["1"]
        first, other = there[1][4] * there[2][1], there[3][2]
        assert found["jobs"] == found["kept_jobs"] == 4
        assert found["fill"] == pytest.approx((3 * first + other) / 4)
        assert found["as_asked"] == pytest.approx(found["fill"])

    def test_a_part_bought_when_asked_is_never_there(self, facts, figures, there):
        needs = needs_of((1, {1: 1, 4: 1}), (3, {2: 1}), (2, {99: 1}))
        found = job_fill(facts, figures, needs, NO_RECIPES)["1"]
        assert found["fill"] == pytest.approx(3 * there[2][1] / 6)
        assert (found["jobs"], found["kept_jobs"]) == (6, 3)
        assert found["kept_fill"] == pytest.approx(there[2][1])

    def test_body_and_stem_serve_an_assembly(self, facts, figures, there):
        # Part 4 is made of one of part 1 and two of part 2; a job needs two of it.
        recipes = np.array([(4, 1, 1), (4, 2, 2)])
        found = job_fill(facts, figures, needs_of((1, {4: 2})), recipes)["1"]
        assert found["fill"] == pytest.approx(there[1][2] * there[2][4])
        assert (found["as_asked"], found["kept_jobs"]) == (pytest.approx(0, abs=1e-9), 1)

    def test_an_assembly_taken_apart_serves_its_body(self, facts, figures, there):
        # Two bodies come out of one of part 1, so that one serves a job for two.
        found = job_fill(facts, figures, needs_of((1, {4: 2})), np.array([(1, 4, 2)]))["1"]
        assert found["fill"] == pytest.approx(there[1][1])

    def test_a_universal_sensor_serves_a_specific_one(self, facts, figures, there):
        pairs = StandIns(specific=np.array([3, 0]), universal=np.array([0, 1]), share=0.0)
        stood_in = replace(facts, stand_ins=pairs)
        found = job_fill(stood_in, figures, needs_of((1, {4: 1}), (1, {1: 2})), NO_RECIPES)["1"]
        either = 1 - (1 - there[1][2]) * (1 - there[2][2])
        assert found["fill"] == pytest.approx((there[1][1] + either) / 2)

    def test_the_part_that_most_jobs_wait_for_comes_first(self, facts, figures, there):
        needs = needs_of((10, {1: 1, 4: 1}), (50, {2: 2}), (10, {3: 1}))
        waits = job_fill(facts, figures, needs, NO_RECIPES)["1"]["waits"]
        assert waits[0] == [4, 10, pytest.approx(10 * there[1][1], abs=0.001)]
        assert waits[1] == [2, 50, pytest.approx(50 * (1 - there[2][2]), abs=0.001)]
        assert 1 not in [part for part, *_ in waits]

    def test_the_commonest_jobs_with_all_they_need(self, facts, figures, there):
        needs = needs_of((1, {3: 1}), (9, {1: 4, 2: 1}))
        common = job_fill(facts, figures, needs, NO_RECIPES)["1"]["common"]
        assert common[0] == [
            9,
            pytest.approx(there[1][4] * there[2][1], abs=1e-4),
            [[1, 4], [2, 1]],
        ]
        assert len(common) == 2

    def test_an_ask_sent_on_is_still_one_ask(self, facts):
        pairs = StandIns(specific=np.array([3]), universal=np.array([0]), share=1.0)
        sent = plan_figures(replace(facts, stand_ins=pairs))
        share = job_fill(facts, sent, needs_of((1, {1: 1})), NO_RECIPES)["1"]["asks"]
        alone = plan_figures(facts)
        fill = np.where(sent.policy.reorder_point >= 0, sent.policy.job_fill, 0)
        assert share == pytest.approx(sent.asks_per_week @ fill / alone.asks_per_week.sum())
        assert share < 1

    def test_without_jobs_nothing_is_told(self, facts, figures):
        none = JobNeeds(jobs=np.zeros((0, 2), dtype=np.int64), needs=NO_RECIPES)
        assert job_fill(facts, figures, none, NO_RECIPES) == {}
