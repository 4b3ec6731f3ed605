"""What a job says of a part is kept once, and never changes the catalogue itself."""

from datetime import date

import pytest
from django.core.exceptions import ValidationError

from inventory.catalog.evidence import confirm_fit, contradict_fit, learn_vin_pattern
from inventory.catalog.models import Evidence, Fitment, VinPattern
from tests.make import make_application, make_part

pytestmark = pytest.mark.django_db


class TestConfirmFit:
    def test_a_job_says_so_of_a_part_once(self):
        application, part = make_application(), make_part()
        for _ in range(2):
            confirm_fit(application, [part, part], job_key="J-1", by=None)
        confirm_fit(application, [part], job_key="J-2", by=None)
        assert sorted(Evidence.objects.values_list("job_key", flat=True)) == ["J-1", "J-2"]

    def test_keeps_the_month_the_vehicle_was_built_in(self):
        month = date(2018, 4, 1)
        confirm_fit(make_application(), [make_part()], job_key="J-1", built_month=month, by=None)
        assert Evidence.objects.get().built_month == month

    def test_lists_no_fitment_by_itself(self):
        confirm_fit(make_application(), [make_part()], job_key="J-1", by=None)
        assert not Fitment.objects.exists()


class TestContradictFit:
    def test_the_first_reason_of_a_job_stays(self):
        application, part = make_application(), make_part()
        for reason in ("the hole differs", "another word"):
            contradict_fit(application, part, reason=reason, job_key="J-1", by=None)
        assert Evidence.objects.get().reason == "the hole differs"

    def test_refuses_without_a_reason(self):
        with pytest.raises(ValidationError) as refusal:
            contradict_fit(make_application(), make_part(), reason=" ", job_key="J-1", by=None)
        assert refusal.value.messages == ["Say why the part did not fit."]


class TestLearnVinPattern:
    def test_counts_the_vehicles_that_begin_so(self):
        application = make_application()
        for last in ("000117", "000118"):
            learn_vin_pattern(application, vin=f"ZZZ AB1C29J1{last}", year=2018)
        pattern = VinPattern.objects.get()
        assert (pattern.start, pattern.year, pattern.vehicles) == ("ZZZAB1C2", 2018, 2)

    def test_learns_nothing_from_a_number_too_short(self):
        assert learn_vin_pattern(make_application(), vin="ZZZAB", year=2018) is None
