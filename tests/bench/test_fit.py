import random

import pytest

from inventory.catalog.codes import normalised
from inventory.catalog.models import Application
from inventory.catalog.names import names as kept_names
from inventory.catalog.names import vehicles_named
from tests.bench.fit import FIRST, QUERIES, names, with_a_typo


class TestNames:
    def test_are_distinct_and_the_same_in_every_run(self):
        first, again = (names(random.Random(7)) for _ in range(2))
        assert first == again
        assert len(set(first)) == len(first) == 8_000


class TestWithATypo:
    def test_is_one_mistake_away(self):
        rng = random.Random(7)
        for name in names(rng)[:500]:
            typed, right = with_a_typo(rng, name), " ".join(name).lower()
            assert abs(len(typed) - len(right)) <= 1
            # What is before and after one place of at most two letters is as it should be.
            same = next((i for i, (a, b) in enumerate(zip(typed, right, strict=False)) if a != b),
                        len(typed))  # fmt: skip
            assert any(
                typed[same + there :] == right[same + here :]
                for there in range(3)
                for here in range(3)
            )


@pytest.mark.django_db
class TestSearchOfABigCatalogue:
    def test_finds_every_one_of_sixty_typos_in_the_first_twenty(self):
        rng = random.Random(20260309)
        named = names(rng)
        Application.objects.bulk_create(
            Application(
                key=f"{make}-{model}",
                make=make,
                model=model,
                year_from=2010,
                year_to=2016,
                search_key=normalised(make + model),
            )
            for make, model in named
        )
        kept_names.forget()
        wanted = rng.sample(named, QUERIES)
        for name in wanted:
            hits = vehicles_named(with_a_typo(rng, name), limit=FIRST)
            assert name in {(hit.make, hit.model) for hit in hits}
        kept_names.forget()
