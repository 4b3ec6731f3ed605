from datetime import date

import pytest
from django.core.exceptions import ValidationError

from jobs.workshop.actions.vehicles import set_up_wheels
from jobs.workshop.actions.wheels import place_wheel, rotate_wheels, set_wheel_id, swap_sets
from jobs.workshop.models import IdOrigin, Position, WheelId
from tests.make import make_vehicle, make_wheels

pytestmark = pytest.mark.django_db
SEEN, LATER = date(2024, 3, 1), date(2024, 10, 12)


def _stands(wheel):
    return wheel.places.get(until=None).position


class TestRotateWheels:
    def test_front_and_rear_trade_places_and_keep_their_histories(self):
        vehicle = make_vehicle()
        fl, _, rl, _ = make_wheels(vehicle)
        rotate_wheels(vehicle, positions={fl: "rear_left", rl: "front_left"}, on=LATER)
        assert (_stands(fl), _stands(rl)) == ("rear_left", "front_left")
        before = fl.places.get(position="front_left")
        assert (before.since, before.until) == (SEEN, LATER)

    def test_refuses_two_wheels_in_one_place(self):
        vehicle = make_vehicle(plate="QX 2")
        fl, *_ = make_wheels(vehicle)
        with pytest.raises(ValidationError) as refusal:
            rotate_wheels(vehicle, positions={fl: "rear_left"}, on=LATER)
        assert refusal.value.messages == [
            "Two wheels of QX 2 would stand rear left; move or store one of them."
        ]

    def test_refuses_a_wheel_of_another_vehicle(self):
        vehicle, other = make_vehicle(plate="QX 3"), make_wheels(make_vehicle(key="V-o"))[0]
        with pytest.raises(ValidationError) as refusal:
            rotate_wheels(vehicle, positions={other: "spare"}, on=LATER)
        assert refusal.value.messages == [
            "Wheel V-o-1 belongs to another vehicle; choose one of QX 3."
        ]


class TestPlaceWheel:
    def test_corrects_a_place_given_wrong_the_same_day(self):
        wheel = make_wheels(make_vehicle())[0]
        place_wheel(wheel, position=Position.STORED, on=LATER)
        place_wheel(wheel, position=Position.SPARE, on=LATER)
        assert _stands(wheel) == "spare"
        assert wheel.places.count() == 2

    def test_refuses_a_day_before_the_wheel_came_there(self):
        wheel = make_wheels(make_vehicle(key="V-d"))[0]
        with pytest.raises(ValidationError) as refusal:
            place_wheel(wheel, position="stored", on=date(2024, 2, 1))
        assert refusal.value.messages == [
            "Wheel V-d-1 came to its place on 2024-03-01; move it on that day or later."
        ]


class TestSwapSets:
    def test_winter_wheels_come_back_to_where_they_stood(self):
        vehicle = make_vehicle()
        summer = set_up_wheels(vehicle, on=SEEN, set_name="Summer")
        winter = set_up_wheels(vehicle, on=SEEN, set_name="Winter", stored=True)
        sets = {its.name: its for its in vehicle.wheel_sets.all()}
        swap_sets(vehicle, mount=sets["Winter"], on=LATER, stored_where="rack 4")
        rotate_wheels(
            vehicle,
            positions={winter[0]: "rear_right", winter[3]: "front_left"},
            on=date(2025, 1, 5),
        )
        swap_sets(vehicle, mount=sets["Summer"], on=date(2025, 4, 1))
        swap_sets(vehicle, mount=sets["Winter"], on=date(2025, 10, 12))
        assert (_stands(winter[0]), _stands(winter[3])) == ("rear_right", "front_left")
        assert {_stands(wheel) for wheel in summer} == {"stored"}

    def test_remembers_where_the_set_that_came_off_is_stored(self):
        vehicle = make_vehicle()
        set_up_wheels(vehicle, on=SEEN, set_name="Summer")
        set_up_wheels(vehicle, on=SEEN, set_name="Winter", stored=True, stored_where="rack 4")
        swap_sets(
            vehicle, mount=vehicle.wheel_sets.get(name="Winter"), on=LATER, stored_where="rack 9"
        )
        assert vehicle.wheel_sets.get(name="Summer").stored_where == "rack 9"
        assert vehicle.wheel_sets.get(name="Winter").stored_where == ""

    def test_said_again_that_day_only_says_anew_where_the_other_is(self):
        vehicle = make_vehicle()
        summer = set_up_wheels(vehicle, on=SEEN, set_name="Summer")
        set_up_wheels(vehicle, on=SEEN, set_name="Winter", stored=True)
        winter = vehicle.wheel_sets.get(name="Winter")
        for where in ("rack 4", "rack 9"):
            swap_sets(vehicle, mount=winter, on=LATER, stored_where=where)
        assert {_stands(wheel) for wheel in summer} == {"stored"}
        assert vehicle.wheel_sets.get(name="Summer").stored_where == "rack 9"
        assert summer[0].places.count() == 2

    def test_wheels_of_no_set_become_one_that_can_be_mounted_again(self):
        vehicle = make_vehicle()
        loose = make_wheels(vehicle)
        set_up_wheels(vehicle, on=SEEN, set_name="Winter", stored=True)
        winter = vehicle.wheel_sets.get(name="Winter")
        swap_sets(vehicle, mount=winter, on=LATER, stored_where="rack 4", called="Summer")
        summer = vehicle.wheel_sets.get(name="Summer")
        assert (set(summer.wheels.all()), summer.stored_where) == (set(loose), "rack 4")
        swap_sets(vehicle, mount=summer, on=date(2025, 4, 1))
        assert [_stands(wheel) for wheel in loose] == [
            "front_left",
            "front_right",
            "rear_left",
            "rear_right",
        ]

    def test_refuses_a_set_that_is_mounted(self):
        vehicle = make_vehicle()
        set_up_wheels(vehicle, on=SEEN, set_name="Summer")
        with pytest.raises(ValidationError) as refusal:
            swap_sets(vehicle, mount=vehicle.wheel_sets.get(), on=LATER)
        assert refusal.value.messages == ["The set “Summer” is mounted already."]


class TestSetWheelId:
    def test_a_new_id_ends_the_old_one_that_day(self):
        wheel = make_wheels(make_vehicle())[0]
        set_wheel_id(wheel, sensor_id="00a1b2", origin=IdOrigin.FACTORY, on=SEEN)
        set_wheel_id(wheel, sensor_id="C3D4", origin=IdOrigin.NEW, on=LATER)
        assert list(wheel.ids.values_list("sensor_id", "since", "until")) == [
            ("A1B2", SEEN, LATER),
            ("C3D4", LATER, None),
        ]

    def test_the_same_id_again_changes_nothing(self):
        wheel = make_wheels(make_vehicle())[0]
        first = set_wheel_id(wheel, sensor_id="A1B2", origin=IdOrigin.FACTORY, on=SEEN)
        assert set_wheel_id(wheel, sensor_id="0a1b2", origin=IdOrigin.NEW, on=LATER) == first

    def test_corrects_an_id_read_wrong_the_same_day(self):
        wheel = make_wheels(make_vehicle())[0]
        set_wheel_id(wheel, sensor_id="A1B2", origin=IdOrigin.FACTORY, on=SEEN)
        set_wheel_id(wheel, sensor_id="A1B3", origin=IdOrigin.FACTORY, on=SEEN)
        assert wheel.ids.get().sensor_id == "A1B3"

    def test_copies_on_a_stored_set_are_no_clash(self):
        vehicle = make_vehicle()
        summer = make_wheels(vehicle)
        winter = set_up_wheels(vehicle, on=SEEN, set_name="Winter", stored=True)
        set_wheel_id(summer[0], sensor_id="A1B2", origin=IdOrigin.FACTORY, on=SEEN)
        set_wheel_id(winter[0], sensor_id="A1B2", origin=IdOrigin.COPIED, on=SEEN)
        assert WheelId.objects.filter(sensor_id="A1B2", until=None).count() == 2

    def test_refuses_the_id_of_another_mounted_wheel(self):
        fl, fr, *_ = make_wheels(make_vehicle())
        set_wheel_id(fl, sensor_id="A1B2", origin=IdOrigin.FACTORY, on=SEEN)
        with pytest.raises(ValidationError) as refusal:
            set_wheel_id(fr, sensor_id="00A1B2", origin=IdOrigin.NEW, on=LATER)
        assert refusal.value.messages == [
            "Front left already answers with A1B2; two mounted wheels cannot share an id. "
            "Read both again."
        ]

    def test_refuses_an_id_that_begins_before_the_one_there(self):
        wheel = make_wheels(make_vehicle(key="V-e"))[0]
        set_wheel_id(wheel, sensor_id="A1B2", origin=IdOrigin.FACTORY, on=LATER)
        with pytest.raises(ValidationError) as refusal:
            set_wheel_id(wheel, sensor_id="C3", origin=IdOrigin.NEW, on=SEEN)
        assert refusal.value.messages == [
            "Wheel V-e-1 has its id since 2024-10-12; a new one begins on that day or later."
        ]
