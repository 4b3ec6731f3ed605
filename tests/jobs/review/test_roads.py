"""What the advice on dead bodies cost, against always one action; worked by hand."""

from datetime import date

import pytest

from inventory.shop.models import ShopSettings
from jobs.models import AdviceGiven, Fitted, JobLine
from jobs.review.roads import Gone, roads, roads_taken
from tests.make import make_job, make_vehicle, make_wheels

PRICES = {"body_cents": 4600.0, "assembly_cents": 5300.0, "visit_cents": 6000.0}
TODAY = date(2025, 1, 1)


class TestRoads:
    def test_worked_by_hand(self):
        kept = [Gone("body", stem_failed=number < 1) for number in range(10)]
        whole = [Gone("assembly", stem_failed=False, chance=0.5) for _ in range(20)]
        found = roads(kept + whole, **PRICES)
        assert found
        # (10 × 46 + 1 × 60 + 20 × 53) ÷ 30; 53; (10 × 46 + 60 + 20 × (46 + 0.5 × 60)) ÷ 30.
        assert found.done_cents == 5267
        assert found.always_assembly_cents == 5300
        assert found.always_body_cents == 6800

    def test_says_nothing_below_ten_of_either(self):
        nine = [Gone("body", stem_failed=False)] * 9
        assert roads(nine + [Gone("assembly", stem_failed=False)] * 30, **PRICES) is None


@pytest.mark.django_db
class TestRoadsTaken:
    def took(self, bay, action, count, *, failing=0):
        part = {"body": bay.body, "assembly": bay.assembly}[action]
        for number in range(count):
            vehicle = make_vehicle(bay.application, in_service_on=date(2014, 5, 1))
            wheel = make_wheels(vehicle, on=date(2021, 1, 1))[0]
            job = make_job(vehicle, site=bay.site, opened_at="2022-03-01T08:00:00Z")
            AdviceGiven.objects.create(
                job=job,
                wheel=wheel,
                at="2022-03-01T09:00:00Z",
                action=action,
                strength="must",
                because="dead",
                taken=action,
                horizon_days=730,
            )
            JobLine.objects.create(
                job=job, kind="part", wheel=wheel, action=action, part=part, price_cents=5000
            )
            stem = Fitted.objects.filter(wheel=wheel, kind="stem")
            if action == "assembly":
                stem.update(ended_on="2022-03-01", end_reason="replaced_good", ended_by_job=job)
            elif number < failing:
                stem.update(ended_on="2023-03-01", end_reason="leaking", last_good_on="2022-03-01")

    def test_counts_stems_that_failed_and_weighs_those_nobody_saw(self, bay):
        ShopSettings.objects.update_or_create(pk=1, defaults={"labour_price_cents": 9000})
        self.took(bay, "body", 10, failing=5)
        self.took(bay, "assembly", 10)
        found = roads_taken(today=TODAY)
        assert found
        assert (found.bodies, found.assemblies) == (10, 10)
        assert found.always_assembly_cents == 5000
        assert found.always_assembly_cents < found.done_cents < found.always_body_cents

    def test_waits_until_the_time_is_over(self, bay):
        self.took(bay, "body", 10)
        self.took(bay, "assembly", 10)
        assert roads_taken(today=date(2024, 2, 1)) is None
