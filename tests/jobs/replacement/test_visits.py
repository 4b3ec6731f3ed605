"""The programme over the visits left, against the same programme as a plain recursion."""

from functools import cache

import numpy as np
import pytest

from jobs.replacement.visits import PartAhead, costs_over_visits, half_stretches
from jobs.replacement.weibull import chance_of_failure

BODY, STEM = (8.5, 5.0), (8.0, 2.5)
YEARS, LOSS = 4.0, {"body": 80.0, "stem": 50.0}
PRICE = {"neither": 4.0, "body": 42.0, "stem": 12.0, "both": 49.0}


def chance(law, age):
    return float(chance_of_failure(age, YEARS, scale=law[0], shape=law[1]))


@cache
def value(body, stem, visits):
    return min(costs(body, stem, visits).values()) if visits else 0.0


def costs(body, stem, visits):
    """Each action, and whatever is best afterwards, over every outcome of the stretch."""
    ages = {"neither": (body, stem), "body": (0, stem), "stem": (body, 0), "both": (0, 0)}
    return {name: PRICE[name] + stretch(*after, visits) for name, after in ages.items()}


def stretch(body, stem, visits):
    q_body, q_stem = chance(BODY, body), chance(STEM, stem)
    total = q_body * LOSS["body"] + q_stem * LOSS["stem"]
    for p, older_body in ((q_body, YEARS / 2), (1 - q_body, body + YEARS)):
        for r, older_stem in ((q_stem, YEARS / 2), (1 - q_stem, stem + YEARS)):
            total += p * r * value(older_body, older_stem, visits - 1)
    return total


def ahead(law, ages, visits, loss):
    own = np.array(ages)[:, None] + YEARS * np.arange(visits)
    renewed = np.tile(YEARS * half_stretches(visits), (len(ages), 1))
    chances = (
        chance_of_failure(table, YEARS, scale=law[0], shape=law[1]) for table in (own, renewed)
    )
    return PartAhead(own=next(chances), renewed=next(chances), loss=np.full(len(ages), loss))


def planned(bodies, stems, visits, **changes):
    return costs_over_visits(
        ahead(BODY, bodies, visits, LOSS["body"]),
        ahead(STEM, stems, visits, LOSS["stem"]),
        np.tile(list(PRICE.values()), (len(bodies), 1)),
        visits=visits,
        **changes,
    )


class TestCostsOverVisits:
    @pytest.mark.parametrize("visits", [1, 2, 3, 4])
    def test_as_the_recursion_says_for_many_wheels_at_once(self, visits):
        bodies, stems = [0.0, 2.0, 5.5, 9.0], [0.0, 7.0, 5.5, 1.0]
        answer = planned(bodies, stems, visits)
        expected = [list(costs(*pair, visits).values()) for pair in zip(bodies, stems, strict=True)]
        assert answer == pytest.approx(np.array(expected))

    def test_another_price_today_moves_today_alone(self):
        dearer = np.array([[14.0, 52.0, 22.0, 59.0]])
        plain, today = planned([5.0], [5.0], 3), planned([5.0], [5.0], 3, today=dearer)
        assert today - plain == pytest.approx(np.full((1, 4), 10.0))

    def test_refuses_to_plan_without_a_visit(self):
        with pytest.raises(ValueError, match="at least 1") as refused:
            planned([5.0], [5.0], 0)
        assert str(refused.value) == "today's visit counts, so at least 1 is left; got 0"
