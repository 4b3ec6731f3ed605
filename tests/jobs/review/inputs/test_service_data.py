"""The yearly cost of service data over some days, and who carries it."""

from datetime import date

import pytest

from jobs.models import Job, JobLine
from jobs.review.inputs.service_data import ServiceData, service_data
from jobs.workshop.actions.jobs import open_job
from tests.make import make_site, make_vehicle

pytestmark = pytest.mark.django_db
WEEK = date(2026, 3, 2), date(2026, 3, 8)
YEARLY = 36500


def closed(site, *, action="", kind="sensor", on=WEEK[0]):
    job = open_job(make_vehicle(), site=site, kind=kind, technician=None)
    if action:
        JobLine.objects.create(job=job, kind="labour", action=action)
    Job.objects.filter(pk=job.pk).update(closed_at=job.opened_at, closed_on=on)


def carried(site=None, *spans):
    return service_data(YEARLY, *(spans or [WEEK]), site=site)


class TestServiceData:
    def test_is_spread_over_jobs_that_fitted_or_taught_a_sensor(self):
        site = make_site()
        for action in ("assembly", "body", "relearn", "reseal", "core", "plain_valve"):
            closed(site, action=action)
        closed(site, kind="relearn")
        closed(site, action="body", on=date(2026, 3, 9))
        assert carried() == [ServiceData(cents=700, jobs=4)]
        assert carried()[0].a_job_cents == 175

    def test_counts_a_job_once_however_many_wheels_it_had(self):
        closed(make_site(), action="body")
        JobLine.objects.create(job=Job.objects.get(), kind="labour", action="body")
        assert carried()[0].jobs == 1

    def test_each_span_has_its_own_days_and_jobs(self):
        site = make_site()
        closed(site, action="body")
        day = date(2026, 3, 9)
        closed(site, action="body", on=day)
        closed(site, action="body", on=day)
        found = carried(None, WEEK, (day, day))
        assert found == [ServiceData(cents=700, jobs=1), ServiceData(cents=100, jobs=2)]

    def test_sites_carry_it_by_their_sensor_jobs_and_sum_to_the_shop(self):
        sites = [make_site(code=code) for code in ("one", "two", "three")]
        for site, jobs in zip(sites, (1, 2, 0), strict=True):
            for _ in range(jobs):
                closed(site, action="body")
        assert [carried(site)[0].cents for site in sites] == [233, 467, 0]
        assert [carried(site)[0].jobs for site in sites] == [1, 2, 0]

    def test_without_a_sensor_job_it_is_paid_all_the_same(self):
        sites = [make_site(code=code) for code in ("one", "two")]
        transit = make_site(code="road", kind="transit")
        assert carried() == [ServiceData(cents=700)]
        assert carried()[0].a_job_cents is None
        assert [carried(site)[0].cents for site in (*sites, transit)] == [350, 350, 0]

    def test_where_none_is_paid_nothing_is_asked(self, django_assert_num_queries):
        with django_assert_num_queries(0):
            assert service_data(0, WEEK, WEEK) == [ServiceData(), ServiceData()]
