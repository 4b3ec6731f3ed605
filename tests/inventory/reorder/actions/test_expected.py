from datetime import date

import pytest
from django.core.exceptions import ValidationError
from django.db.models import Sum

from inventory.reorder.actions.expected import AsksExpected, expect_asks
from inventory.reorder.models import ExpectedAsk
from tests.make import make_part, make_site

pytestmark = pytest.mark.django_db

WEDNESDAY = date(2026, 3, 4)


def expected(part, site, mean=(0.5, 0.0, 1.5), variance=4.0):
    return AsksExpected(part=part.pk, site=site.pk, mean=mean, variance=variance)


class TestExpectAsks:
    def test_weeks_begin_on_monday_and_empty_ones_are_left_out(self):
        assert expect_asks([expected(make_part(), make_site())], by_week_from=WEDNESDAY) == 2
        told = ExpectedAsk.objects.values_list("week", "mean")
        assert list(told) == [(date(2026, 3, 2), 0.5), (date(2026, 3, 16), 1.5)]

    def test_the_variances_of_the_weeks_add_up_to_that_of_their_sum(self):
        expect_asks([expected(make_part(), make_site())], by_week_from=WEDNESDAY)
        assert ExpectedAsk.objects.aggregate(sum=Sum("variance"))["sum"] == pytest.approx(4.0)

    def test_replaces_what_was_expected_before(self):
        part, site = make_part(), make_site()
        expect_asks([expected(make_part(), site)], by_week_from=WEDNESDAY)
        for _ in range(2):
            expect_asks([expected(part, site)], by_week_from=WEDNESDAY)
        assert set(ExpectedAsk.objects.values_list("part", flat=True)) == {part.pk}
        assert ExpectedAsk.objects.count() == 2

    def test_refuses_what_cannot_be(self):
        part = make_part()
        with pytest.raises(ValidationError) as refusal:
            expect_asks([expected(part, make_site(), mean=(-0.5, 1.0))], by_week_from=WEDNESDAY)
        assert refusal.value.messages == [
            "Expected asks and their variance are 0 or more; got -0.5 and 4 for part "
            f"{part.pk}: look at the lives it was computed from."
        ]
