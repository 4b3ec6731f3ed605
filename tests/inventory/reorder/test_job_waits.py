from datetime import date

import pytest

from inventory.reorder.actions.plan import run_plan
from inventory.reorder.job_waits import WholeJobs, job_waits, whole_jobs
from inventory.reorder.models import PlanRun, PlanStatus
from tests.make import make_part, make_plan_line, make_site

pytestmark = pytest.mark.django_db


def told(**shares):
    usual = {
        "jobs": 40,
        "asks_share": 0.92,
        "share": 0.951,
        "as_asked_share": 0.949,
        "kept_jobs": 40,
        "kept_share": 0.951,
    }
    return WholeJobs(**usual | shares)


def plan_with(site, **kept):
    usual = {
        "asks": 0.92,
        "jobs": 40,
        "fill": 0.88,
        "as_asked": 0.8,
        "kept_jobs": 30,
        "kept_fill": 0.95,
        "waits": [],
        "common": [],
    }
    figures = {"whole_jobs": {str(site.pk): usual | kept}}
    return PlanRun.objects.create(as_of=date(2026, 3, 4), status=PlanStatus.DONE, figures=figures)


class TestWholeJobs:
    def test_asks_and_jobs_in_one_sentence(self):
        assert told().sentence == (
            "The plan fills 92% of asks; everything a job needs is there in 95% of jobs."
        )

    def test_what_takes_the_place_of_a_part_is_told_where_it_matters(self):
        assert told().as_asked_sentence == ""
        assert told(as_asked_share=0.871).as_asked_sentence == (
            "In 87% that is exactly what was asked for; 8% more are served by body and stem put "
            "together, an assembly taken apart or a universal sensor."
        )

    def test_jobs_whose_parts_are_all_kept_are_told_where_some_are_not(self):
        assert told().kept_sentence == ""
        assert told(kept_jobs=30, kept_share=0.98).kept_sentence == (
            "Of the 30 of 40 jobs whose parts are all kept, 98% find everything."
        )

    def test_a_plan_that_did_not_look_tells_nothing(self):
        site = make_site()
        run = PlanRun.objects.create(as_of=date(2026, 3, 4), status=PlanStatus.DONE)
        assert whole_jobs(run, site) is None
        assert job_waits(run, site) is None
        assert whole_jobs(plan_with(site), make_site()) is None

    def test_a_plan_of_a_shop_without_jobs_tells_nothing(self):
        site = make_site()
        assert whole_jobs(run_plan(as_of=date(2026, 3, 4), by=None), site) is None


class TestJobWaits:
    def test_parts_with_their_lines_and_jobs_with_their_parts(self):
        site, kept, unplanned = make_site(), make_part(), make_part("kit")
        run = plan_with(
            site,
            waits=[[kept.pk, 12, 3.5], [unplanned.pk, 2, 1.0]],
            common=[[9, 0.91, [[kept.pk, 1], [unplanned.pk, 4]]]],
        )
        line = make_plan_line(site, None, run=run, part=kept)
        found = job_waits(run, site)
        assert found is not None
        assert [(one.part, one.line, one.jobs, one.waiting) for one in found.waits] == [
            (kept, line, 12, 3.5),
            (unplanned, None, 2, 1.0),
        ]
        assert found.common[0].needs == [(1, kept), (4, unplanned)]
        assert found.whole.share == 0.88

    def test_parts_that_are_gone_are_left_out(self):
        site, part = make_site(), make_part()
        run = plan_with(
            site,
            waits=[[part.pk + 1, 12, 3.5], [part.pk, 2, 1.0]],
            common=[[9, 0.9, [[part.pk + 1, 1]]], [3, 0.8, [[part.pk, 1]]]],
        )
        found = job_waits(run, site)
        assert found is not None
        assert [one.part for one in found.waits] == [part]
        assert [one.times for one in found.common] == [3]
