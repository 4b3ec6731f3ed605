from datetime import date, timedelta

import pytest
from django.utils import timezone

from inventory.ledger.actions import count_stock, issue_stock, move_stock, receive_stock
from inventory.ledger.age import months_later, not_moved, oldest, past_shelf_life
from tests.make import make_bin, make_part, make_site

pytestmark = pytest.mark.django_db
YEARS_AGO = timezone.now() - timedelta(days=800)


@pytest.fixture
def site():
    return make_site()


def received(part, site, key, pieces=3, at=YEARS_AGO, **facts):
    posting = receive_stock(
        part, site=site, pieces=pieces, value_cents=100, by=None, key=key, at=at, **facts
    )
    return posting.movements.get().lot


class TestOldest:
    def test_by_the_day_it_was_made_else_received(self, site):
        part = make_part()
        new = received(part, site, "a", at=timezone.now())
        made = received(part, site, "b", at=timezone.now(), made_on=date(2019, 1, 1))
        old = received(part, site, "c")
        assert [each.lot for each in oldest(site)] == [made, old, new]


class TestPastShelfLife:
    def test_counts_months_from_the_day_it_was_made(self, site):
        today = site.today()
        seal = make_part("seal", shelf_life_months=24)
        month = today.replace(day=1)
        over = received(seal, site, "a", made_on=months_later(month, -24) - timedelta(days=1))
        received(seal, site, "b", made_on=months_later(month, -23))
        received(make_part("seal"), site, "c", made_on=date(2001, 1, 1))
        assert [each.lot for each in past_shelf_life(site)] == [over]


class TestNotMoved:
    def test_what_was_sold_or_came_within_a_year_has_moved(self, site):
        still, sold, new = make_part(number="S"), make_part(), make_part()
        for part in (still, sold):
            received(part, site, part.number)
        received(new, site, "new", at=timezone.now())
        issue_stock(sold, site=site, pieces=1, by=None, key="i")
        assert [shelf.part for shelf in not_moved(site)] == [still]

    def test_a_count_or_another_bin_is_no_trade(self, site):
        part = make_part()
        lot = received(part, site, "a")
        count_stock(part, site=site, counted=2, by=None, key="c")
        move_stock(lot, pieces=1, by=None, key="m", bin=make_bin(site))
        assert [(shelf.part, shelf.on_hand) for shelf in not_moved(site)] == [(part, 2)]


class TestMonthsLater:
    def test_ends_with_the_month(self):
        assert months_later(date(2023, 12, 31), 2) == date(2024, 2, 29)
        assert months_later(date(2024, 2, 29), 12) == date(2025, 2, 28)
        assert months_later(date(2024, 3, 5), -24) == date(2022, 3, 5)
