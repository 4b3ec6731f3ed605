import pytest
from django.urls import reverse

from inventory.shop.roles import Role
from jobs.models import Job
from jobs.review.inputs.margins import earned
from jobs.review.period import Span, moved, period_earned
from jobs.workshop.actions.jobs import open_job, record_comeback
from jobs.workshop.actions.lines import add_labour, issue_part_for_job, return_part_from_job
from tests.make import make_user

pytestmark = pytest.mark.django_db


@pytest.fixture
def sold(bay):
    """A body for 42.00 that cost 19.37, and twenty minutes of work."""
    from inventory.models import ShopSettings

    shop = ShopSettings.load()
    shop.labour_price_cents, shop.labour_cost_cents = 9000, 4500
    shop.save()
    issue_part_for_job(bay.job, part=bay.body, by=None, key="body", wheel=bay.wheel, action="body")
    add_labour(bay.job, minutes=20, words="Tire off and on")
    close(bay.job, bay)
    return bay


def close(job, bay):
    Job.objects.filter(pk=job.pk).update(closed_at=job.opened_at, closed_on=bay.site.today())


@pytest.fixture
def owner(client, bay):
    client.force_login(make_user(Role.OWNER, home_site=bay.site))
    return client


def margin_of(job):
    return earned(Job.objects.filter(pk=job.pk))[0]


class TestEarned:
    def test_takes_parts_at_what_they_really_cost_and_labour_at_cost(self, sold):
        one = margin_of(sold.job)
        assert one.own.price_cents == 4200 + 3000
        assert one.own.parts_cents == 1937
        assert one.own.labour_cents == 1500
        assert one.own.margin_cents == 7200 - 1937 - 1500
        assert one.work == "Body only"

    def test_what_came_back_to_the_shelf_costs_nothing(self, bay):
        line = issue_part_for_job(bay.job, part=bay.kit, quantity=2, by=None, key="kit")
        return_part_from_job(line, pieces=1, by=None, key="back")
        assert margin_of(bay.job).own.parts_cents == 1937

    def test_what_we_pay_ourselves_takes_nothing(self, bay):
        issue_part_for_job(bay.job, part=bay.kit, by=None, key="kit", payer="goodwill")
        assert margin_of(bay.job).own.price_cents == 0
        assert margin_of(bay.job).own.margin_cents == -1937

    def test_a_comeback_is_charged_to_its_cause(self, sold):
        again = open_job(sold.vehicle, site=sold.site, kind="sensor", technician=sold.technician)
        record_comeback(again, of=sold.job, cause="part_failed", payer="us")
        again.refresh_from_db()
        issue_part_for_job(again, part=sold.body, by=None, key="again", payer="us")
        close(again, sold)
        first, second = margin_of(sold.job), margin_of(again)
        assert first.charged.margin_cents == first.own.margin_cents - 1937
        assert second.charged.charged_to == sold.job.key
        assert second.charged.margin_cents == 0


class TestMoved:
    def test_adds_up_to_the_change(self, sold):
        today = sold.site.today()
        span = Span(first=today, last=today)
        now, before = period_earned(span), period_earned(span.before)
        found = moved(before, now)
        assert sum(found.bars.values()) == now.margin_cents - before.margin_cents


class TestMoney:
    def test_says_what_the_jobs_earned(self, owner, sold):
        shown = owner.get(reverse("jobs:money")).content.decode()
        assert "37.63" in shown
        assert "from 1 job" in shown
        assert "Body only" in shown

    def test_says_so_when_nothing_was_closed(self, owner):
        shown = owner.get(reverse("jobs:money")).content.decode()
        assert "No job was closed on these days" in shown

    @pytest.mark.parametrize("by", ["work", "model", "account", "technician", "site", "month"])
    def test_groups_in_every_way(self, owner, sold, by):
        assert owner.get(reverse("jobs:money"), {"by": by}).status_code == 200

    def test_is_the_owners_alone(self, client, bay):
        for role in (Role.TECHNICIAN, Role.PARTS_MANAGER):
            client.force_login(make_user(role, home_site=bay.site))
            assert client.get(reverse("jobs:money")).status_code == 403

    def test_asks_the_database_the_same_however_many_jobs(
        self, owner, sold, django_assert_max_num_queries
    ):
        with django_assert_max_num_queries(34):
            owner.get(reverse("jobs:money"))

    def test_survives_days_that_are_none(self, owner):
        answer = owner.get(reverse("jobs:money"), {"first": "soon", "by": "'; drop"})
        assert answer.status_code == 200


class TestJobMargin:
    def test_shows_price_cost_and_margin_of_each_line(self, owner, sold):
        shown = owner.get(reverse("jobs:job_margin", args=[sold.job.pk])).content.decode()
        assert "19.37" in shown
        assert "left" in shown
