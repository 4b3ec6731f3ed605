from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from inventory.ledger.actions import issue_stock, log_ask, settle_ask
from inventory.ledger.models import How
from inventory.models import ShopSettings
from inventory.shop.roles import Role
from jobs.models import Job
from jobs.review.inputs.stock_money import dead_stock, mean_stocks, stock_now
from jobs.review.inputs.unserved import summed, unserved
from jobs.workshop.actions.jobs import record_declined
from tests.make import make_part, make_site, make_stock, make_user

pytestmark = pytest.mark.django_db


def days_ago(days):
    return timezone.now() - timedelta(days=days)


def sums(site, **settings):
    shop, today = ShopSettings(labour_cost_cents=6000, **settings), site.today()
    rows = unserved(first=today - timedelta(days=9), last=today, site=site, shop=shop)
    return {row.how: row for row in summed(rows)}


class TestUnserved:
    def test_a_part_that_was_not_there_cost_its_margin(self):
        site, part = make_site(), make_part(list_price_cents=5000)
        make_stock(part, site, pieces=2, value_cents=6000)
        ask = log_ask(part, site=site, pieces=2, by=None, key="a", at=days_ago(2))
        settle_ask(ask, how=How.LOST, pieces=2)
        lost = sums(site)[How.LOST]
        assert (lost.times, lost.pieces, lost.worth_cents, lost.cost_cents) == (1, 2, 10000, 4000)
        # 100.00 with a quarter of tax is 80.00 without.
        lost = sums(site, prices_include_tax=True, tax_per_mille=250)[How.LOST]
        assert (lost.worth_cents, lost.cost_cents) == (10000, 2000)

    def test_bought_in_cost_its_premium_and_six_minutes(self):
        site, part = make_site(), make_part(list_price_cents=5000)
        make_stock(part, site, pieces=10, value_cents=30000)
        dear = make_stock(part, site, pieces=1, value_cents=4100).movements.get().lot
        ask = log_ask(part, site=site, pieces=1, by=None, key="a", at=days_ago(2))
        issue_stock(
            part, site=site, pieces=1, lot=dear, by=None, key="i", ask=ask, how=How.BOUGHT_IN
        )
        # 41.00 against the usual 30.00, and a tenth of an hour at 60.00.
        assert sums(site)[How.BOUGHT_IN].cost_cents == 1100 + 600

    def test_declined_for_the_price_stands_apart_from_lost(self, bay):
        for for_price, price in ((True, 4200), (True, 900), (False, 5000)):
            record_declined(
                bay.job, action="body", part=bay.body, price_cents=price,
                why="Too dear" if for_price else "Sells it soon", for_price=for_price,
            )  # fmt: skip
        Job.objects.update(closed_at=bay.job.opened_at, closed_on=bay.site.today())
        found = sums(bay.site)
        assert (found["price"].times, found["price"].worth_cents) == (2, 5100)
        assert (found["otherwise"].times, found["otherwise"].worth_cents) == (1, 5000)
        assert found[How.LOST].times == 0
        assert found["price"].cost_cents is None


class TestMeanStocks:
    def test_weighs_what_lay_there_by_its_days(self):
        site, part = make_site(), make_part(kind="kit")
        make_stock(part, site, pieces=10, value_cents=1000, at=days_ago(40))
        issue_stock(part, site=site, pieces=5, by=None, key="i", at=days_ago(3))
        now = stock_now(site)
        assert now == {"kit": 500}
        first = timezone.now().date() - timedelta(days=9)
        # Ten closes: six days at 10.00, then four at 5.00.
        assert mean_stocks(now, first=first, days=10, site=site) == {"kit": 800.0}


class TestDeadStock:
    def test_is_what_nobody_took_for_a_year(self):
        site = make_site()
        old, fresh, used, bought = (make_part(kind="kit") for _ in range(4))
        for part in (old, used, bought):
            make_stock(part, site, pieces=2, value_cents=700, at=days_ago(500))
        make_stock(fresh, site, pieces=2, value_cents=700, at=days_ago(10))
        make_stock(bought, site, pieces=2, value_cents=700, at=days_ago(10))
        issue_stock(old, site=site, pieces=1, by=None, key="old", at=days_ago(400))
        issue_stock(used, site=site, pieces=1, by=None, key="used", at=days_ago(300))
        (dead,) = dead_stock(today=site.today(), site=site)
        assert (dead.part, dead.pieces, dead.cents) == (old.pk, 1, 350)
        assert dead.last_issued == days_ago(400).date()


class TestMoneyShelf:
    def test_says_what_the_shelves_bring_and_what_was_lost(
        self, client, django_assert_max_num_queries
    ):
        site, part = make_site(), make_part(kind="kit", list_price_cents=400)
        client.force_login(make_user(Role.OWNER, home_site=site))
        make_stock(part, site, pieces=2, value_cents=700, at=days_ago(500))
        ask = log_ask(part, site=site, pieces=1, by=None, key="a", job_key="J-9")
        settle_ask(ask, how=How.LOST, pieces=1)
        with django_assert_max_num_queries(21):
            text = client.get(reverse("jobs:money_shelf"), {"how": "lost"}).content.decode()
        assert "$7.00 on the shelves brings 0.00 times its worth a year" in text
        assert "$7.00 of it lies dead" in text
        assert "J-9" in text
        assert "by=kind&amp;is=kit" in text

    def test_an_empty_shop_divides_by_nothing(self, client):
        client.force_login(make_user(Role.OWNER, home_site=make_site()))
        text = client.get(reverse("jobs:money_shelf")).content.decode()
        assert "$0.00 on the shelves, $0.00 of it lies dead" in text
