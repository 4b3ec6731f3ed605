from datetime import date, timedelta

import pytest
from django.utils import timezone

from inventory.shop.roles import Role
from jobs.review.inputs.vehicles_here import vehicles_by_application
from jobs.review.waves import Wave, Waves, waves
from tests.make import (
    make_account,
    make_application,
    make_fitment,
    make_job,
    make_offer,
    make_part,
    make_site,
    make_stock,
    make_supplier,
    make_user,
    make_vehicle,
    make_wheels,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def site():
    return make_site(name="Quay Street")


@pytest.fixture
def manager(client, site):
    client.force_login(make_user(Role.PARTS_MANAGER, home_site=site))
    return client


@pytest.fixture
def application():
    return make_application(make="Merow", model="Lista")


def make_car(application, site, **facts):
    vehicle = make_vehicle(application, **{"in_service_on": date(2014, 5, 1)} | facts)
    make_wheels(vehicle)
    make_job(vehicle, site=site, opened_at=timezone.now() - timedelta(days=40))
    return vehicle


def page(client, address):
    answer = client.get(address)
    assert answer.status_code == 200
    return answer.content.decode()


class TestWaves:
    def test_lists_the_largest_kinds_and_counts_the_rest(self, application):
        wave = Wave(application=application, account=None, sensor=True, cars=(), asks=1.0,
                    asks_after=1.0)  # fmt: skip
        told = Waves(found=(wave,) * 43, until=date(2026, 9, 1), vehicles=0, asks=43.0)
        assert len(told.first_kinds) == 40
        assert told.more_kinds == 3

    def test_a_fleet_is_a_wave_of_its_own(self, site, application):
        fleet = make_account(name="Tern Parcels")
        for account in [fleet] * 10 + [None] * 10:
            make_car(application, site, account=account)
        found = [one for one in waves(site.today()).found if one.sensor]
        assert sorted((str(one.account), len(one.cars)) for one in found) == [
            ("None", 10),
            ("Tern Parcels", 10),
        ]

    def test_its_asks_are_those_of_its_cars(self, site, application):
        for _ in range(4):
            make_car(application, site)
        found = waves(site.today())
        assert sum(one.asks for one in found.found) <= found.asks
        for wave in found.found:
            assert wave.asks == pytest.approx(sum(car.asks for car in wave.cars))

    def test_young_sensors_are_no_wave(self, site, application):
        make_car(application, site, in_service_on=date(2024, 1, 1))
        assert waves(site.today()).found == ()


class TestWaveList:
    def test_opens_the_cars_of_each_wave(self, manager, site, application):
        cars = [make_car(application, site) for _ in range(9)]
        text = page(manager, "/waves/")
        assert "sensors, 9 vehicles" in text
        assert all(f"/vehicles/{car.pk}/" in text for car in cars)

    def test_without_vehicles_says_so(self, manager):
        assert "No wave to be seen until" in page(manager, "/waves/")

    def test_costs_the_same_for_many_vehicles(
        self, manager, site, application, django_assert_max_num_queries
    ):
        make_car(application, site)
        with django_assert_max_num_queries(22):
            page(manager, "/waves/")
        for _ in range(6):
            make_car(application, site)
        with django_assert_max_num_queries(22):
            page(manager, "/waves/")


class TestPartRange:
    def test_says_what_covers_the_vehicles_seen_and_what_could_go(self, manager, site, application):
        make_car(application, site)
        best, spare = make_part(number="QX-1"), make_part(number="RZ-2")
        for part in (best, spare):
            make_fitment(application, part)
            make_offer(make_supplier(), part)
        make_stock(spare, site, pieces=2, value_cents=4_000)
        make_stock(best, site, pieces=2, value_cents=4_000)
        text = page(manager, "/range/?percent=90")
        assert "1 sensor covers 100% of the vehicles seen; $40.00 lies in the others" in text
        assert "1 vehicle came to Quay Street in three years." in text

    def test_a_share_that_is_none_is_said_beside_the_field(self, manager, site, application):
        make_car(application, site)
        part = make_part()
        make_fitment(application, part)
        make_offer(make_supplier(), part)
        assert "less than or equal to 100" in page(manager, "/range/?percent=120")

    def test_without_vehicles_says_so(self, manager):
        assert "No range to tell yet" in page(manager, "/range/")

    def test_costs_the_same_for_many_parts(
        self, manager, site, application, django_assert_num_queries
    ):
        make_car(application, site)
        for _ in range(12):
            part = make_part()
            make_fitment(application, part)
            make_offer(make_supplier(), part)
        with django_assert_num_queries(12):
            page(manager, "/range/")


class TestVehiclesByApplication:
    def test_counts_each_vehicle_of_three_years_once(self, site, application):
        car = make_car(application, site)
        make_job(car, site=site)
        old = make_vehicle(application)
        make_job(old, site=site, opened_at=timezone.now() - timedelta(days=1_200))
        make_job(make_vehicle(application), site=make_site())
        assert vehicles_by_application(site, today=site.today()) == {application.pk: 1}
