"""The re-learn walk before a vehicle leaves, and the job it comes back with."""

from datetime import timedelta

import pytest
from django.urls import reverse

from jobs.models import AdviceGiven, Job
from tests.jobs.review.views.bay_pages import read
from tests.make import make_job, make_vehicle

pytestmark = pytest.mark.django_db


class TestJobRelearn:
    def address(self, bay):
        return reverse("jobs:job_relearn", args=[bay.job.pk])

    def test_walks_round_the_vehicle_by_its_own_steps_first(self, signed_in, bay):
        bay.application.relearn_steps = "Lock, unlock, wait for the horn."
        bay.application.save()
        shown = signed_in.get(self.address(bay)).content.decode()
        assert "Lock, unlock, wait for the horn." in shown
        places = ["1. Front left", "2. Front right", "3. Rear right", "4. Rear left"]
        found = [shown.index(place) for place in places]
        assert found == sorted(found)
        assert "Brake set, fresh air, nobody near." in shown

    def test_leaves_nothing_to_ask_at_closing(self, signed_in, bay):
        read(signed_in, bay, heard="answered", battery="weak")
        checks = {"lamp_after": "off", "pressures_set_cold": "on", "road_checked": "on"}
        learned = {f"learned-{wheel.pk}": "on" for wheel in bay.wheels}
        told = {f"pressure-{bay.wheel.pk}": "34"}
        signed_in.post(self.address(bay), checks | learned | told)
        last = bay.wheel.readings.latest("at")
        assert (last.heard, last.id_stored_in_vehicle, last.pressure_kpa) == ("answered", True, 234)
        assert last.battery == "weak"
        page = signed_in.get(reverse("jobs:job_detail", args=[bay.job.pk])).content.decode()
        assert "Nothing is missing." in page

    def test_says_what_to_tick_when_nothing_is(self, signed_in, bay):
        answer = signed_in.post(self.address(bay), {}).content.decode()
        assert "Tick at least one wheel that was learned, or one check that is done." in answer
        assert not bay.job.readings.exists()

    def test_a_closed_job_is_left_as_it_is(self, signed_in, bay):
        Job.objects.filter(pk=bay.job.pk).update(
            closed_at=bay.job.opened_at, closed_on=bay.site.today()
        )
        answer = signed_in.post(self.address(bay), {"road_checked": "on"}).content.decode()
        assert f"Job {bay.job} is closed" in answer


class TestJobComeback:
    @pytest.fixture
    def earlier(self, bay):
        opened = bay.job.opened_at - timedelta(days=40)
        job = make_job(bay.vehicle, site=bay.site, opened_at=opened)
        AdviceGiven.objects.create(
            job=job,
            wheel=bay.wheel,
            action="body",
            strength="must",
            because="The body is dead.",
            taken="assembly",
            taken_reason="customer wish",
        )
        return job

    def address(self, bay):
        return reverse("jobs:job_comeback", args=[bay.job.pk])

    def test_shows_what_the_advice_said_then(self, signed_in, bay, earlier):
        shown = signed_in.get(self.address(bay)).content.decode()
        assert "replace the sensor body" in shown
        assert "done: replace the whole assembly, customer wish" in shown
        assert "The body is dead." in shown

    def test_keeps_cause_and_payer(self, signed_in, bay, earlier):
        told = {"of": earlier.pk, "cause": "part_failed", "payer": "supplier"}
        signed_in.post(self.address(bay), told)
        job = Job.objects.get(pk=bay.job.pk)
        assert (job.comeback_of, job.cause, job.payer) == (earlier, "part_failed", "supplier")

    def test_refuses_a_job_of_another_vehicle(self, signed_in, bay, earlier):
        other = make_job(make_vehicle(), opened_at=earlier.opened_at)
        signed_in.post(self.address(bay), {"of": other.pk, "cause": "damage", "payer": "us"})
        assert Job.objects.get(pk=bay.job.pk).comeback_of is None

    def test_says_so_where_there_is_nothing_to_come_back_from(self, signed_in, bay):
        assert "was never here before" in signed_in.get(self.address(bay)).content.decode()
