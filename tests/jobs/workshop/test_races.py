"""Two taps at once on a job. On SQLite writers queue anyway; PostgreSQL shows naive code."""

from datetime import UTC, date, datetime

import pytest
from django.core.exceptions import ValidationError
from django.db import connection

from inventory.ledger.models import Movement, Shelf
from jobs.workshop.actions.fitting import fit_issued_part
from jobs.workshop.actions.jobs import close_job, open_job
from jobs.workshop.actions.lines import add_labour, issue_part_for_job, return_part_from_job
from jobs.workshop.actions.tire_change import change_tires_same_on_all
from jobs.workshop.actions.wheels import rotate_wheels, set_wheel_id
from jobs.workshop.models import Fitted, Job, JobLine, Place, Reading
from tests.inventory.reorder.test_races import at_once
from tests.make import make_job, make_part, make_site, make_stock, make_vehicle, make_wheels

pytestmark = pytest.mark.django_db(transaction=True)
AT = datetime(2026, 4, 7, 9, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _on_postgres():
    if connection.vendor != "postgresql":
        pytest.skip("SQLite serves one writer at a time; run this on PostgreSQL.")


@pytest.fixture
def job():
    vehicle = make_vehicle()
    make_wheels(vehicle)
    return make_job(vehicle, kind="tire_change", opened_at=AT)


@pytest.fixture
def kit(job):
    part = make_part("kit", mounting="clamp_in", list_price_cents=690)
    make_stock(part, job.site, pieces=20)
    return part


def told(work):
    """What an action gives, or the sentence with which it refuses."""

    def do(number):
        try:
            return work(number)
        except ValidationError as refusal:
            return refusal.messages[0]

    return do


def fresh(job):
    return Job.objects.get(pk=job.pk)


class TestAtOnce:
    def test_one_issue_sent_by_many_is_one_line(self, job, kit):
        found = at_once(
            lambda _: issue_part_for_job(fresh(job), part=kit, quantity=2, by=None, key="k").pk
        )
        assert set(found) == {JobLine.objects.get().pk}
        assert Shelf.objects.get().on_hand == 18

    def test_one_return_sent_by_many_comes_back_once(self, job, kit):
        line = issue_part_for_job(job, part=kit, quantity=4, by=None, key="k")
        at_once(lambda _: return_part_from_job(line, pieces=1, by=None, key="r").pk)
        assert JobLine.objects.get().quantity == 3
        assert Shelf.objects.get().on_hand == 17

    def test_many_returns_never_bring_back_more_than_went_out(self, job, kit):
        line = issue_part_for_job(job, part=kit, quantity=4, by=None, key="k")
        at_once(told(lambda n: return_part_from_job(line, pieces=1, by=None, key=f"r{n}").pk))
        assert JobLine.objects.get().quantity == 0
        assert Shelf.objects.get().on_hand == 20
        assert Movement.objects.filter(posting__kind="returned").count() == 4

    def test_a_tire_change_tapped_twice_is_one(self, job, kit):
        found = at_once(
            lambda _: change_tires_same_on_all(fresh(job), part=kit, by=None, key="t", at=AT).pk
        )
        assert set(found) == {JobLine.objects.get().pk}
        assert Shelf.objects.get().on_hand == 16
        assert Reading.objects.count() == 4
        assert Fitted.objects.now().filter(kind="seal").count() == 4

    def test_one_part_is_fitted_on_a_wheel_once(self, job):
        body = make_part("body", list_price_cents=4990)
        make_stock(body, job.site, pieces=8)
        wheel = job.vehicle.wheels.first()
        lines = [
            issue_part_for_job(job, part=body, wheel=wheel, by=None, key=f"k{n}") for n in range(8)
        ]
        at_once(told(lambda n: fit_issued_part(lines[n], by=None) and "fitted"))
        assert wheel.fitted.now().filter(kind="body").count() == 1

    def test_work_sent_by_many_is_one_line(self, job):
        at_once(lambda _: add_labour(fresh(job), minutes=20, words="re-learn", key="l").pk)
        assert JobLine.objects.count() == 1

    def test_a_vehicle_is_taken_in_once(self):
        vehicle, site = make_vehicle(), make_site()
        at_once(told(lambda _: open_job(vehicle, site=site, kind="sensor").pk))
        assert Job.objects.in_hand().count() == 1

    def test_a_job_is_closed_once(self):
        job = make_job(kind="other", key="J-r")
        said = at_once(told(lambda _: close_job(job).key))
        assert sorted(set(said)) == ["J-r", "Job J-r is closed; open a new one for more work."]
        assert said.count("J-r") == 1

    def test_one_wheel_ends_in_each_place(self, job):
        wheels = list(job.vehicle.wheels.all())
        day = date(2026, 4, 7)
        at_once(
            told(lambda n: rotate_wheels(job.vehicle, positions={wheels[n % 4]: "spare"}, on=day))
        )
        assert Place.objects.now().filter(position="spare").count() == 1

    def test_a_wheel_answers_with_one_id(self, job):
        wheel = job.vehicle.wheels.first()
        at_once(
            told(
                lambda n: set_wheel_id(wheel, sensor_id=f"A{n}", origin="new", on=date(2026, 4, 7))
            )
        )
        assert wheel.ids.filter(until=None).count() == 1
