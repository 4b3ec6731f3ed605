from datetime import UTC, date, datetime, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.ledger.actions import log_ask
from inventory.reorder.models import ExpectedAsk
from jobs.review.expected import UNEXPLAINED, away, expected_asks, write_expected
from jobs.review.inputs.in_use import Seen, pieces_in_use, vehicles_seen
from jobs.review.inputs.laws import shop_laws
from jobs.review.inputs.parts_used import asks_of_the_year, part_shares
from jobs.workshop.models import JobLine
from tests.make import (
    make_application,
    make_fitment,
    make_job,
    make_part,
    make_site,
    make_vehicle,
    make_wheels,
)

pytestmark = pytest.mark.django_db

TODAY = date(2026, 3, 4)


def noon(days_before):
    return datetime(2026, 3, 4, 12, tzinfo=UTC) - timedelta(days=days_before)


@pytest.fixture
def site():
    return make_site()


@pytest.fixture
def application():
    return make_application()


@pytest.fixture
def body(application):
    part = make_part(kind="body")
    make_fitment(application, part)
    return part


def make_car(application, site, *, in_service_on, days_ago=30):
    vehicle = make_vehicle(application, in_service_on=in_service_on)
    make_wheels(vehicle)
    make_job(vehicle, site=site, opened_at=noon(days_ago))
    return vehicle


def total(found, part):
    """Asks of the vehicles on the books, without the few of those on none."""
    return sum(sum(one.mean) - UNEXPLAINED for one in found if one.part == part.pk)


class TestExpectedAsks:
    def test_old_sensors_lead_us_to_expect_more_than_young_ones(self, site):
        found = {}
        for born in (date(2016, 5, 1), date(2023, 5, 1)):
            application = make_application()
            part = make_part(kind="body")
            make_fitment(application, part)
            make_car(application, site, in_service_on=born)
            found[born] = part
        expected = expected_asks(TODAY)
        old, young = (total(expected, part) for part in found.values())
        assert old > 5 * young > 0

    def test_twice_the_vehicles_twice_the_asks(self, site, application, body):
        make_car(application, site, in_service_on=date(2017, 5, 1))
        once = total(expected_asks(TODAY), body)
        make_car(application, site, in_service_on=date(2017, 5, 1))
        assert total(expected_asks(TODAY), body) == pytest.approx(2 * once)

    def test_is_expected_where_the_vehicle_was_last(self, site, application, body):
        vehicle = make_car(application, site, in_service_on=date(2017, 5, 1), days_ago=90)
        other = make_site()
        make_job(vehicle, site=other, opened_at=noon(10))
        assert {one.site for one in expected_asks(TODAY)} == {other.pk}

    def test_a_vehicle_that_was_never_here_is_not_expected(self, application, body):
        make_wheels(make_vehicle(application, in_service_on=date(2017, 5, 1)))
        assert expected_asks(TODAY) == []

    def test_a_visit_of_tomorrow_is_not_known_today(self, site, application, body):
        make_car(application, site, in_service_on=date(2017, 5, 1), days_ago=-1)
        assert expected_asks(TODAY) == []

    def test_what_was_used_before_is_expected_again(self, site, application, body):
        other = make_part(kind="body")
        make_fitment(application, other, rank=2)
        vehicle = make_car(application, site, in_service_on=date(2017, 5, 1))
        job = make_job(vehicle, site=site, opened_at=noon(20))
        for _ in range(6):
            JobLine.objects.create(job=job, kind="part", part=other, action="body")
        expected = expected_asks(TODAY)
        assert total(expected, other) > 3 * total(expected, body)

    def test_the_doubt_is_wider_than_chance_alone(self, site, application, body):
        make_car(application, site, in_service_on=date(2017, 5, 1))
        (one,) = [one for one in expected_asks(TODAY) if one.part == body.pk]
        assert one.variance > sum(one.mean)

    def test_costs_the_same_number_of_queries_for_many_vehicles(self, site, application, body):
        def queries(vehicles):
            for _ in range(vehicles):
                make_car(application, site, in_service_on=date(2017, 5, 1))
            with CaptureQueriesContext(connection) as found:
                expected_asks(TODAY)
            return len(found)

        assert queries(1) == queries(6)


class TestWriteExpected:
    def test_writes_half_a_year_of_weeks(self, site, application, body):
        make_car(application, site, in_service_on=date(2017, 5, 1))
        assert write_expected(TODAY) == 26
        assert ExpectedAsk.objects.filter(part=body, site=site).count() == 26


class TestPiecesInUse:
    def test_bodies_and_metal_stems_are_watched_and_rubber_ones_are_not(self, site):
        for mounting in ("clamp_in", "snap_in"):
            application = make_application(mounting=mounting)
            make_car(application, site, in_service_on=date(2019, 5, 1))
        pieces = pieces_in_use(TODAY, shop_laws(), vehicles_seen(TODAY))
        by_mounting = [(piece.family.mounting, piece.sensor) for piece in pieces]
        assert sorted(set(by_mounting)) == [
            ("clamp_in", False),
            ("clamp_in", True),
            ("snap_in", True),
        ]

    def test_ages_run_from_new_to_the_last_visit_and_to_today(self, site, application):
        make_car(application, site, in_service_on=date(2020, 3, 4), days_ago=365)
        piece = pieces_in_use(TODAY, shop_laws(), vehicles_seen(TODAY))[0]
        assert piece.age_now == pytest.approx(6, abs=0.01)
        assert 3.9 < piece.age_good <= 5.01


class TestAsksOfTheYear:
    def test_counts_by_vehicles_known_before(self, site, application, body):
        vehicle = make_car(application, site, in_service_on=date(2019, 5, 1), days_ago=400)
        job = make_job(vehicle, site=site, opened_at=noon(50))
        log_ask(body, site=site, pieces=1, by=None, key="a", at=noon(50), job_key=job.key)
        log_ask(body, site=site, pieces=1, by=None, key="b", at=noon(40))
        log_ask(body, site=site, pieces=1, by=None, key="c", at=noon(390))
        found = asks_of_the_year(TODAY, {vehicle.pk: Seen(site=site.pk, on=date(2025, 1, 1))})
        assert found.whole == {True: 2, False: 0}
        assert found.of_vehicle == {(vehicle.pk, True): 1}


class TestPartShares:
    def test_a_vehicle_kind_that_was_never_here_follows_the_catalogue(self, application, body):
        second = make_part(kind="assembly")
        make_fitment(application, second, rank=2)
        shares = part_shares(TODAY)[application.pk, True]
        # Rank 2 is worth 0.3 of rank 1.
        assert shares == pytest.approx({body.pk: 1 / 1.3, second.pk: 0.3 / 1.3})


class TestAway:
    def test_counts_the_years_since_the_last_visit(self):
        days = (0, 365, 366, 730, 731)
        seen = [Seen(site=1, on=TODAY - timedelta(days=number)) for number in days]
        assert [away(one, TODAY) for one in seen] == [0, 0, 1, 1, 2]
