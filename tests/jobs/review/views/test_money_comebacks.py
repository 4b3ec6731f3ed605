from datetime import date, timedelta

import pytest
from django.urls import reverse

from inventory.shop.roles import Role
from jobs.models import Fitted, Job
from jobs.review.comebacks import body_or_assembly, by_cause
from jobs.review.inputs.stem_ages import stem_years
from jobs.review.period import Span, periods_earned
from jobs.workshop.actions.jobs import open_job, record_comeback
from jobs.workshop.actions.lines import issue_part_for_job
from tests.make import make_user

pytestmark = pytest.mark.django_db


def close(job, bay):
    Job.objects.filter(pk=job.pk).update(closed_at=job.opened_at, closed_on=bay.site.today())


@pytest.fixture
def came_back(bay):
    """Two wheels with a body, one with an assembly; one of the bodies comes back."""
    for number, (part, action) in enumerate(((bay.body, "body"), (bay.body, "body"),
                                             (bay.assembly, "assembly"))):  # fmt: skip
        wheel = bay.wheels[number]
        issue_part_for_job(bay.job, part=part, by=None, key=f"{number}", wheel=wheel, action=action)
    close(bay.job, bay)
    again = open_job(bay.vehicle, site=bay.site, kind="sensor", technician=bay.technician)
    record_comeback(again, of=bay.job, cause="part_failed", payer="us")
    again.refresh_from_db()
    issue_part_for_job(
        again, part=bay.body, by=None, key="again", payer="us", wheel=bay.wheels[1], action="body"
    )
    close(again, bay)
    return bay


def jobs_of(bay):
    day = bay.site.today()
    return periods_earned(Span(first=day, last=day))[0].jobs


class TestByCause:
    def test_sums_by_cause_and_payer(self, came_back):
        (row,) = by_cause(jobs_of(came_back))
        assert (row.cause_words, row.payer_words, row.count) == ("The part failed", "Us", 1)
        assert (row.cents, row.charged_words) == (-1937, "yes")


class TestStemYears:
    def test_takes_the_stem_that_was_there_before_the_work(self, bay):
        wheel, day = bay.wheels[0], bay.site.today()
        stem = Fitted.objects.get(wheel=wheel, kind="stem", ended_on=None)
        old, new = day - timedelta(days=1461), day - timedelta(days=100)
        Fitted.objects.filter(pk=stem.pk).update(
            since=old, first_seen_on=old, ended_on=day, end_reason="corroded"
        )
        Fitted.objects.create(
            wheel=wheel, kind="stem", since=day, first_seen_on=day, since_known="fitted"
        )
        assert stem_years([(wheel.pk, day)]) == {(wheel.pk, day): 4.0}
        assert stem_years([(wheel.pk, new)])[wheel.pk, new] == pytest.approx(1361 / 365.25)

    def test_leaves_out_what_nobody_knows(self, bay):
        assert stem_years([(bay.wheel.pk, date(2001, 1, 1))]) == {}


class TestBodyOrAssembly:
    def test_counts_the_wheels_that_came_back_by_the_age_of_their_stem(self, came_back):
        found = body_or_assembly(jobs_of(came_back))
        # Factory stems of May 2019.
        years = (came_back.site.today() - date(2019, 5, 1)).days / 365.25
        (row,) = [one for one in found.by_age if one.stratum.cases]
        assert row.words == ("6 to 9 years old" if years < 9 else "9 years or older")
        assert (row.body.happened, row.body.cases) == (1, 2)
        assert (row.assembly.happened, row.assembly.cases) == (0, 1)
        assert found.ratio is None


class TestMoneyComebacks:
    @pytest.fixture
    def owner(self, client, bay):
        client.force_login(make_user(Role.OWNER, home_site=bay.site))
        return client

    def test_says_how_many_came_back_and_how_little_is_known(self, owner, came_back):
        page = owner.get(reverse("jobs:money_comebacks")).content.decode()
        assert "1 of 1 job came back, which cost $19.37" in page
        # Wilson's interval of 1 of 1: 1/(1 + 1.96²) = 0.2065.
        assert "between 21% and 100%" in page
        assert "The part failed" in page
        assert "Labour and others" not in page
        assert "Nothing can be said yet" in page

    def test_asks_the_database_the_same_in_every_way(
        self, owner, came_back, django_assert_max_num_queries
    ):
        for by in ("action", "maker", "technician", "nothing"):
            with django_assert_max_num_queries(15):
                assert owner.get(reverse("jobs:money_comebacks"), {"by": by}).status_code == 200

    def test_without_jobs_nothing_is_divided(self, owner, bay):
        page = owner.get(reverse("jobs:money_comebacks")).content.decode()
        assert "0 of 0 jobs came back" in page
