from datetime import UTC, date, datetime
from typing import Any

import pytest
from django.core.exceptions import ValidationError

from inventory.ledger.models import Ask, Shelf
from jobs.workshop.actions.findings import WheelHeard, record_readings
from jobs.workshop.actions.jobs import close_job
from jobs.workshop.actions.tire_change import change_tires_same_on_all
from jobs.workshop.actions.vehicles import set_up_wheels
from jobs.workshop.models import Reading
from tests.make import (
    make_application,
    make_job,
    make_part,
    make_stock,
    make_user,
    make_vehicle,
    make_wheels,
)

pytestmark = pytest.mark.django_db
AT = datetime(2026, 4, 7, 9, 0, tzinfo=UTC)


def _job(vehicle, **fields):
    return make_job(vehicle, **{"kind": "tire_change", "opened_at": AT, "key": "J-t"} | fields)


def _kit(job, kind="kit", mounting="clamp_in", pieces=10):
    part = make_part(kind, number="KT-1", mounting=mounting, list_price_cents=690)
    make_stock(part, job.site, pieces=pieces)
    return part


def _change(job, part, **fields):
    given: dict[str, Any] = {"by": make_user(), "key": "t1", "at": AT}
    return change_tires_same_on_all(job, part=part, **given | fields)


class TestChangeTiresSameOnAll:
    def test_issues_four_kits_hears_four_sensors_and_is_ready_to_close(self):
        vehicle = make_vehicle()
        make_wheels(vehicle)
        job = _job(vehicle)
        part = _kit(job)
        line = _change(job, part)
        assert (line.quantity, line.price_cents) == (4, 2760)
        assert Shelf.objects.get(part=part).on_hand == 6
        assert Ask.objects.get().pieces == 4
        assert set(Reading.objects.values_list("heard", flat=True)) == {"answered"}
        assert close_job(job).closed_at is not None

    def test_a_sensor_that_was_read_as_silent_has_not_answered(self):
        vehicle = make_vehicle()
        dead, weak, *_ = make_wheels(vehicle)
        job = _job(vehicle)
        heard = [WheelHeard(wheel=dead, heard="silent", tries=2), WheelHeard(wheel=weak)]
        record_readings(job, heard, by=None, at=AT)
        _change(job, _kit(job))
        told = list(Reading.objects.order_by("pk").values_list("wheel", "heard"))
        assert len(told) == 4
        assert [heard for wheel, heard in told if wheel == dead.pk] == ["silent"]
        with pytest.raises(ValidationError) as refusal:
            close_job(job)
        assert refusal.value.messages == ["The sensor front left was last: silent."]

    def test_the_seals_begin_new_lives_and_the_bodies_go_on(self):
        vehicle = make_vehicle()
        wheel = make_wheels(vehicle)[0]
        job = _job(vehicle)
        _change(job, _kit(job))
        assert wheel.fitted.get(kind="seal", ended_on=None).since == date(2026, 4, 7)
        assert wheel.fitted.get(kind="body").last_good_on == date(2026, 4, 7)

    def test_the_kit_of_a_snap_in_is_its_rubber_stem(self):
        vehicle = make_vehicle(make_application(mounting="snap_in"))
        wheel = make_wheels(vehicle)[0]
        job = _job(vehicle)
        _change(job, _kit(job, mounting="snap_in"))
        assert wheel.fitted.get(kind="stem", ended_on=None).since == date(2026, 4, 7)

    def test_the_same_key_changes_once(self):
        vehicle = make_vehicle()
        make_wheels(vehicle)
        job = _job(vehicle)
        part = _kit(job)
        assert _change(job, part) == _change(job, part)
        assert Shelf.objects.get(part=part).on_hand == 6
        assert Reading.objects.count() == 4

    def test_a_vehicle_seen_for_the_first_time_gets_its_wheels(self):
        vehicle = make_vehicle()
        job = _job(vehicle)
        _change(job, _kit(job))
        assert vehicle.wheels.count() == 4

    def test_spare_and_stored_wheels_stay_as_they_are(self):
        vehicle = make_vehicle(make_application(spare_has_sensor=True))
        make_wheels(vehicle, count=5)
        set_up_wheels(vehicle, on=date(2024, 3, 1), set_name="Winter", stored=True)
        job = _job(vehicle)
        assert _change(job, _kit(job)).quantity == 4

    def test_plain_valves_on_an_indirect_system_hear_nothing(self):
        vehicle = make_vehicle(make_application(system="indirect", band="", mounting=""))
        make_wheels(vehicle)
        job = _job(vehicle)
        _change(job, _kit(job, kind="plain_valve", mounting="snap_in"))
        assert not Reading.objects.exists()
        assert close_job(job).closed_at is not None

    def test_a_strapped_sensor_stays_when_its_valve_is_replaced(self):
        # A sensor strapped round the rim does not sit on the valve (common practice, no source).
        vehicle = make_vehicle(make_application(mounting="strap"))
        wheel = make_wheels(vehicle)[0]
        job = _job(vehicle)
        _change(job, _kit(job, kind="plain_valve", mounting="snap_in"))
        assert wheel.fitted.get(kind="body").ended_on is None
        assert Reading.objects.count() == 4
        assert close_job(job).closed_at is not None

    def test_a_plain_valve_in_place_of_a_sensor_is_not_closed_over(self):
        vehicle = make_vehicle(make_application(mounting="snap_in"))
        make_wheels(vehicle)
        job = _job(vehicle)
        _change(job, _kit(job, kind="plain_valve", mounting="snap_in"))
        with pytest.raises(ValidationError) as refusal:
            close_job(job, reason="quick")
        assert refusal.value.messages == [
            f"{where}: a plain valve stands where a sensor belongs: write down who decided."
            for where in ("Front left", "Front right", "Rear left", "Rear right")
        ]

    def test_refuses_when_the_shelf_holds_three_and_writes_nothing(self):
        vehicle = make_vehicle()
        make_wheels(vehicle)
        job = _job(vehicle)
        with pytest.raises(ValidationError) as refusal:
            _change(job, _kit(job, pieces=3))
        assert refusal.value.messages == [
            f"Only 3 of KT-1 on the shelf at {job.site}, not 4; "
            "issue 3 or fewer, or receive stock first."
        ]
        assert not Reading.objects.exists()

    def test_refuses_a_sensor_on_every_wheel(self):
        job = _job(make_vehicle())
        with pytest.raises(ValidationError) as refusal:
            _change(job, make_part("assembly", number="AS-1"))
        assert refusal.value.messages == [
            "AS-1 is no kit, stem, seal or plain valve; issue it on the wheel it is for."
        ]

    def test_refuses_another_kind_of_job(self):
        job = _job(make_vehicle(), kind="sensor")
        with pytest.raises(ValidationError) as refusal:
            _change(job, make_part("kit"))
        assert refusal.value.messages == [
            "Job J-t is no tire change; write down what was done wheel by wheel."
        ]
