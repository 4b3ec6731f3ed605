"""Lots watched through the records of a shop: which alarm, and which vehicles they went to."""

from datetime import date, timedelta

import pytest

from jobs.models import Fitted
from jobs.review.lots import lot_cars, lots_seen, pieces_of_lot
from tests.make import make_stock, make_vehicle, make_wheels

pytestmark = pytest.mark.django_db
FITTED = date(2024, 6, 1)


def fit(bay, code, *, failed=0, good=0, days=200, part=None, **fields):
    """Bodies of one lot on new vehicles: some fail after so many days, some are then seen good."""
    ends = [{"ended_on": FITTED + timedelta(days=days), "end_reason": "silent"}] * failed
    ends += [{"last_good_on": FITTED + timedelta(days=days)}] * good
    wheels = [w for _ in range(0, len(ends), 4) for w in make_wheels(make_vehicle(bay.application))]
    told = {"part": part or bay.body, "printed_code": code, "since": FITTED} | fields
    told |= {"kind": "body", "since_known": "fitted", "first_seen_on": FITTED}
    for wheel, end in zip(wheels, ends, strict=False):
        wheel.fitted.filter(kind="body").delete()
        Fitted.objects.create(wheel=wheel, **told, **end)


class TestLotsSeen:
    def test_a_lot_that_dies_within_months_alarms_and_a_sound_one_does_not(self, bay):
        fit(bay, "BAD-1", failed=6, good=6)
        fit(bay, "GOOD-1", good=12)
        seen = lots_seen()
        [bad] = seen.alarms
        assert bad.batch == (bay.body.pk, "BAD-1", "body")
        assert (bad.fitted, bad.failed) == (12, 6)
        assert bad.watch
        assert bad.watch.expected < 0.5
        assert len(seen.lots) == 2
        assert seen.false_alarms == pytest.approx(0.02)

    def test_fewer_failures_than_can_alarm_are_not_weighed(self, bay):
        fit(bay, "FEW", failed=4)
        [few] = lots_seen().failing
        assert few.failed == 4
        assert few.watch is None

    def test_old_age_is_no_fault_of_the_lot(self, bay):
        fit(bay, "OLD", failed=6, good=6, days=8 * 365, since=date(2014, 6, 1))
        [old] = lots_seen().lots
        assert not old.alarm

    def test_takes_the_code_of_the_shelf_where_none_was_written_on_the_piece(self, bay):
        posting = make_stock(bay.body, bay.site, maker_code="SHELF-7")
        lot = posting.movements.get().lot
        fit(bay, "", good=1, lot=lot)
        [one] = lots_seen().lots
        assert one.batch.code == "SHELF-7"
        assert pieces_of_lot(bay.body, "SHELF-7").count() == 1

    def test_queries_do_not_grow_with_the_lots(self, bay, django_assert_max_num_queries):
        for code in ("A", "B", "C", "D"):
            fit(bay, code, failed=6, good=2)
        with django_assert_max_num_queries(8):
            lots_seen()


class TestLotCars:
    def test_tells_who_still_drives_with_it_from_what_came_off(self, bay):
        fit(bay, "X", failed=1, good=5)
        cars = lot_cars(pieces_of_lot(bay.body, "X"), "body")
        assert len(cars.driving) == 5
        assert cars.vehicles == 2
        assert [piece.end_reason for piece in cars.ended] == ["silent"]
