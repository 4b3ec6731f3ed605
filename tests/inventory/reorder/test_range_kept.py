from datetime import date

import pytest

from inventory.catalog.models import Supersession
from inventory.reorder.range_kept import range_kept
from tests.make import (
    make_application,
    make_fitment,
    make_offer,
    make_part,
    make_site,
    make_stock,
    make_supplier,
)

pytestmark = pytest.mark.django_db

TODAY = date(2026, 3, 4)


@pytest.fixture
def site():
    return make_site()


@pytest.fixture
def cars():
    """Three kinds of vehicle: 60, 30 and 10 were seen."""
    return [make_application() for _ in range(3)]


@pytest.fixture
def seen(cars):
    return dict(zip((car.pk for car in cars), (60, 30, 10), strict=True))


def sensor(*applications, bought=True, **facts):
    part = make_part(**facts)
    for application in applications:
        make_fitment(application, part)
    if bought:
        make_offer(make_supplier(), part)
    return part


def kept(seen, site, share):
    found = range_kept(seen, share=share, site=site, today=TODAY)
    assert found
    return {one.part for one in found.kept}


class TestRangeKept:
    def test_one_universal_sensor_does_the_work_of_two(self, cars, seen, site):
        sensor(cars[0]), sensor(cars[1])
        both = sensor(cars[0], cars[1], universal=True)
        assert kept(seen, site, 0.9) == {both}

    def test_the_rest_needs_its_own(self, cars, seen, site):
        both, rare = sensor(cars[0], cars[1]), sensor(cars[2])
        assert kept(seen, site, 0.9) == {both}
        assert kept(seen, site, 1.0) == {both, rare}

    def test_what_lies_here_and_is_not_kept_could_go(self, cars, seen, site):
        sensor(cars[0], cars[1])
        spare = sensor(cars[1])
        make_stock(spare, site, pieces=3, value_cents=6_000)
        found = range_kept(seen, share=0.9, site=site, today=TODAY)
        assert found
        assert [(one.part, one.on_hand, one.value_cents) for one in found.going] == [
            (spare, 3, 6_000)
        ]
        assert (found.freed_cents, found.to_buy) == (6_000, 1)
        assert [(one.application, one.vehicles) for one in found.uncovered] == [(cars[2], 10)]

    def test_more_than_all_cover_is_all(self, cars, seen, site):
        sensor(cars[0])
        found = range_kept(seen, share=0.95, site=site, today=TODAY)
        assert found
        assert found.share == found.most_share == pytest.approx(0.6)

    def test_front_alone_covers_half(self, cars, seen, site):
        make_fitment(cars[0], sensor(bought=True), axle="front")
        found = range_kept(seen, share=0.3, site=site, today=TODAY)
        assert found
        assert found.share == pytest.approx(0.3)
        assert cars[0] in [one.application for one in found.uncovered]

    def test_what_nobody_sells_any_more_counts_only_while_it_lies_here(self, cars, seen, site):
        sensor(cars[0], bought=False)
        assert range_kept(seen, share=0.5, site=site, today=TODAY) is None
        old, new = sensor(cars[0]), make_part()
        Supersession.objects.create(old=old, new=new)
        assert range_kept(seen, share=0.5, site=site, today=TODAY) is None
        make_stock(old, site)
        assert kept(seen, site, 0.5) == {old}

    def test_stems_and_kits_cover_no_vehicle(self, cars, seen, site):
        sensor(cars[0], kind="stem")
        assert range_kept(seen, share=0.5, site=site, today=TODAY) is None

    def test_without_vehicles_there_is_nothing_to_tell(self, site):
        assert range_kept({}, share=0.95, site=site, today=TODAY) is None
