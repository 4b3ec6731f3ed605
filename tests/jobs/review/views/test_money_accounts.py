from datetime import date

import pytest
from django.urls import reverse

from inventory.shop.roles import Role
from jobs.models import Fitted, Job
from jobs.review.accounts import (
    ABOVE_LIMIT,
    NO_ORDER_NUMBER,
    chances_of_vehicles,
    rules_broken,
    vehicles_due,
)
from jobs.review.inputs.in_use import pieces_in_use, vehicles_seen
from jobs.review.inputs.laws import shop_laws
from jobs.review.period import Span, periods_earned
from jobs.workshop.actions.jobs import record_approval, record_declined
from jobs.workshop.actions.lines import issue_part_for_job
from tests.make import make_account, make_job, make_user, make_vehicle, make_wheels

pytestmark = pytest.mark.django_db


@pytest.fixture
def fleet(bay):
    """A job of 42.00 for an account that wants its number and agrees above 40.00."""
    account = make_account(name="Tern Parcels", order_number_needed=True, limit_cents=4000)
    bay.vehicle.account = account
    bay.vehicle.save()
    Job.objects.update(account=account)
    issue_part_for_job(bay.job, part=bay.body, by=None, key="b")
    return account


def close(bay):
    Job.objects.update(closed_at=bay.job.opened_at, closed_on=bay.site.today())


def broken(bay):
    day = bay.site.today()
    return [one.what for one in rules_broken(periods_earned(Span(first=day, last=day))[0])]


class TestRulesBroken:
    def test_names_jobs_without_a_number_and_above_the_limit_open_or_closed(self, bay, fleet):
        assert broken(bay) == [NO_ORDER_NUMBER, ABOVE_LIMIT]
        close(bay)
        assert broken(bay) == [NO_ORDER_NUMBER, ABOVE_LIMIT]

    def test_says_nothing_of_a_job_that_keeps_them(self, bay, fleet):
        record_approval(bay.job, lines="The body", who="Ada Fisher", how="phone")
        Job.objects.update(order_number="PO-7")
        assert broken(bay) == []

    def test_the_limit_itself_needs_nobody(self, bay, fleet):
        fleet.limit_cents = 4200
        fleet.save()
        assert broken(bay) == [NO_ORDER_NUMBER]


class TestVehiclesDue:
    def test_the_likeliest_to_need_a_sensor_come_first(self, bay, fleet):
        younger = make_vehicle(bay.application, account=fleet, in_service_on=date(2022, 5, 1))
        make_wheels(younger)
        make_job(younger, site=bay.site)
        first_body = Fitted.objects.filter(wheel=bay.wheels[0], kind="body")
        first_body.update(ended_on=date(2025, 1, 1), end_reason="silent")
        record_declined(bay.job, action="body", why="Sells it soon")
        first, second = vehicles_due(fleet, bay.site.today(), shop_laws())
        assert (first.name, first.oldest_since) == (str(bay.vehicle), date(2019, 5, 1))
        assert first.declined == 1
        assert first.chance
        assert second.chance
        assert 1 > first.chance > second.chance > 0
        assert (second.name, second.oldest_since) == (str(younger), date(2022, 5, 1))


class TestChancesOfVehicles:
    def test_one_fails_unless_every_piece_lasts(self, bay, fleet):
        on, laws = bay.site.today(), shop_laws()
        whole = chances_of_vehicles(fleet, on, laws)[bay.vehicle.pk]
        lasts = 1.0
        for piece in pieces_in_use(on, laws, vehicles_seen(on)):
            horizon = piece.age_now - piece.age_good + 1
            lasts *= 1 - laws.posterior(piece.family).chance(piece.age_good, horizon).mean
        assert whole == pytest.approx(1 - lasts)

    def test_of_a_vehicle_never_here_nothing_is_said(self, bay, fleet):
        stranger = make_vehicle(bay.application, account=fleet)
        make_wheels(stranger)
        rows = vehicles_due(fleet, bay.site.today(), shop_laws())
        assert {row.vehicle: row.chance for row in rows}[stranger.pk] is None


class TestMoneyAccounts:
    def test_shows_what_each_left_and_opens_its_vehicles(
        self, client, bay, fleet, django_assert_max_num_queries
    ):
        client.force_login(make_user(Role.OWNER, home_site=bay.site))
        close(bay)
        with django_assert_max_num_queries(24):
            answer = client.get(reverse("jobs:money_accounts"), {"account": fleet.pk})
        page = answer.content.decode()
        assert "1 account left $22.63" in page
        assert "no order number of the account" in page
        assert f"{fleet}: the next vehicles to come" in page
        assert str(bay.vehicle) in page

    def test_an_account_that_is_not_there_shows_none(self, client, bay):
        client.force_login(make_user(Role.OWNER, home_site=bay.site))
        for named in ("0", "x", "9" * 30):
            answer = client.get(reverse("jobs:money_accounts"), {"account": named})
            assert "the next vehicles" not in answer.content.decode()
