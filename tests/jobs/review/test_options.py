"""Ways offered to a customer: priced as the job then charges, ordered, and told apart."""

from datetime import date

import pytest

from jobs.models import Job
from jobs.review.actions import do_on_wheel
from jobs.review.advised import advised
from jobs.review.options import ALL, LEAST, OVER_YEARS, customer_options
from jobs.review.siblings import siblings_advised
from jobs.workshop.actions.findings import WheelHeard, record_inspection, record_readings
from tests.make import make_account

pytestmark = pytest.mark.django_db


def heard(bay, **by_wheel):
    """Every wheel answers, save what is said of wheels by their number."""
    said = [
        WheelHeard(wheel=wheel, **by_wheel.get(f"w{number}", {"id_stored_in_vehicle": True}))
        for number, wheel in enumerate(bay.wheels)
    ]
    record_readings(bay.job, said, by=bay.technician)


DEAD = {"heard": "silent", "tries": 2}


def options_of(bay):
    job = Job.objects.for_list().get(pk=bay.job.pk)
    found = advised(job)
    return found, customer_options(job, found, siblings_advised(found))


def charged(bay, found, option):
    """What the job asks for once all of an option is done."""
    for one in found.wheels:
        action = option.actions[one.case.now.wheel.pk]
        do_on_wheel(
            bay.job,
            one,
            action=action,
            by=bay.technician,
            key=f"k{one.case.now.where}",
            reason="so",
        )
    return sum(bay.job.lines.values_list("price_cents", flat=True))


class TestCustomerOptions:
    @pytest.mark.parametrize("which", [0, 1])
    @pytest.mark.parametrize("discount", [0, 125])
    def test_costs_what_the_job_then_charges(self, bay, which, discount):
        if discount:
            account = make_account(discount_per_mille=discount)
            Job.objects.filter(pk=bay.job.pk).update(account=account)
            bay.job.refresh_from_db()
        heard(bay, w0=DEAD, w1=DEAD)
        found, options = options_of(bay)
        assert options[which].price_cents == charged(bay, found, options[which]) > 0

    def test_least_today_first_and_least_expected_is_so_by_its_own_figures(self, bay):
        bay.vehicle.wheels.update(tire_fitted_on=date(2025, 5, 1))
        heard(bay, w0=DEAD)
        _, options = options_of(bay)
        assert options[0].titles[0] == LEAST
        assert ALL in options[-1].titles
        assert options[0].price_cents == min(one.price_cents for one in options)
        [over_years] = [one for one in options if OVER_YEARS in one.titles]
        assert over_years.expected_cents == min(one.expected_cents for one in options)

    def test_all_wheels_makes_every_old_body_new_and_leaves_what_is_nearly_new(self, bay):
        heard(bay, w0=DEAD)
        young = bay.wheels[3].fitted.get(kind="body")
        young.since = young.first_seen_on = bay.site.today()
        young.save()
        _, options = options_of(bay)
        done = dict(options[-1].lines)
        assert done["Rear right"] == "Leave as it is: nearly new"
        others = [words for where, words in done.items() if where != "Rear right"]
        assert all(words.startswith("Replace the") for words in others)

    def test_ways_that_come_to_the_same_are_one(self, bay):
        bay.vehicle.wheels.update(tire_fitted_on=date(2022, 5, 1))
        heard(bay)
        for wheel in bay.wheels:
            wheel.fitted.update(since=bay.site.today(), first_seen_on=bay.site.today())
        _, options = options_of(bay)
        [only] = options
        assert only.title == "Least today, and least expected over the years, and all wheels"
        assert only.price_cents == 0
        assert only.at_risk == [
            "Little: less than 1 in 20 that a sensor or stem fails before the next tire change."
        ]

    def test_risk_falls_with_what_is_made_new(self, bay):
        heard(bay, w0=DEAD)
        _, options = options_of(bay)
        assert "that a sensor goes silent" in options[0].at_risk[0]
        assert options[0].later_cents > options[-1].later_cents

    def test_offers_nothing_before_a_sensor_was_read(self, bay):
        assert options_of(bay)[1] == []

    def test_a_part_without_a_price_leaves_the_total_open(self, bay):
        bay.assembly.list_price_cents = None
        bay.assembly.save()
        heard(bay, w0=DEAD)
        record_inspection(bay.job, wheel=bay.wheel, stem="corroded")
        _, options = options_of(bay)
        assert options[0].price_cents is None
        assert options[0].expected == ""
