from datetime import date, timedelta

import pytest

from jobs.review.inputs.laws import shop_laws
from jobs.review.inputs.wheels import job_case
from jobs.workshop.actions.pieces import fit_part
from jobs.workshop.actions.wheels import place_wheel
from tests.make import make_job, make_part, make_vehicle, make_wheels

pytestmark = pytest.mark.django_db


class TestJobCase:
    @pytest.mark.parametrize(("days", "left"), [(400, 0.0), (300, 0.179)])
    def test_our_warranty_runs_while_a_wheel_lies_in_store(self, days, left):
        vehicle = make_vehicle()
        wheel = make_wheels(vehicle, on=date(2020, 3, 1))[0]
        job = make_job(vehicle)
        fitted = job.site.today() - timedelta(days=days)
        fit_part(wheel, part=make_part("body"), on=fitted)
        place_wheel(wheel, position="stored", on=fitted + timedelta(days=1))
        place_wheel(wheel, position="front_left", on=job.site.today())
        case = job_case(job, laws=shop_laws(), with_costs=False)
        [body] = [one.asked.body for one in case.wheels if one.now.wheel == wheel]
        # A year of warranty, less 300 of 365.25 days; the body itself aged less in store.
        assert body.our_years_left == pytest.approx(left, abs=1e-3)
        assert body.age_years < days / 365.25
