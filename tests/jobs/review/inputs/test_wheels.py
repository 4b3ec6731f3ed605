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

    # Four years between tire changes are planned; a new tire has 8 mm of tread (common practice,
    # no source) and is worn at 1.6 mm (2/32 inch, 49 CFR 570.9, from memory): 6.4 mm to wear.
    @pytest.mark.parametrize(
        ("tread", "fitted_years_ago", "left"),
        [
            (None, None, 4.0),
            (80, None, 4.0),
            (48, None, 2.0),
            (48, 1, 2.0),
            (48, 3, 1.0),
            (90, 1, 3.0),
            (16, None, 0.5),
            (10, 0, 0.5),
        ],
    )
    def test_a_worn_tire_comes_off_sooner(self, tread, fitted_years_ago, left):
        vehicle = make_vehicle()
        wheel = make_wheels(vehicle)[0]
        job = make_job(vehicle)
        if fitted_years_ago is not None:
            days = timedelta(days=round(365.25 * fitted_years_ago))
            wheel.tire_fitted_on = job.site.today() - days
        wheel.tread_tenths_mm = tread
        wheel.save()
        case = job_case(job, laws=shop_laws(), with_costs=False)
        [asked] = [one.asked for one in case.wheels if one.now.wheel == wheel]
        assert asked.years_to_tire_change == pytest.approx(left, abs=1e-2)
