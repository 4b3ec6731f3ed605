from datetime import date

import pytest
from django.core.exceptions import ValidationError

from inventory.shop.models import Change
from jobs.workshop.actions.vehicles import (
    change_vehicle,
    name_vehicle,
    register_vehicle,
    set_up_wheels,
)
from jobs.workshop.models import Fitted, Keeper, Place, Position, SinceKnown, WheelKind
from tests.make import make_application, make_user, make_vehicle

pytestmark = pytest.mark.django_db
SEEN = date(2024, 3, 1)


class TestRegisterVehicle:
    def test_is_found_by_plate_however_it_is_typed(self):
        vehicle = register_vehicle(plate="qx-41 7")
        assert list(type(vehicle).objects.known_as("QX 417")) == [vehicle]

    def test_reads_the_model_year_where_the_number_leaves_one(self):
        # Position 10 is J and position 7 a letter: 2018 (49 CFR 565.15, table VII). The number
        # is invented; its first three characters belong to no maker known to us.
        assert register_vehicle(vin="ZZZAB1C29J1000117").model_year == 2018

    def test_keeps_a_number_that_fails_its_check_digit(self):
        # The check digit is a North American rule: a failure warns and never blocks.
        assert register_vehicle(vin="zzzab1c29j1000117").vin == "ZZZAB1C29J1000117"

    def test_refuses_a_number_of_the_wrong_length(self):
        with pytest.raises(ValidationError) as refusal:
            register_vehicle(vin="ZZZAB1C29J")
        assert refusal.value.messages == [
            "A VIN has 17 characters; “ZZZAB1C29J” has 10. Read it again."
        ]

    def test_refuses_a_vehicle_nobody_could_find_again(self):
        with pytest.raises(ValidationError) as refusal:
            register_vehicle(plate=" ")
        assert refusal.value.messages == [
            "Give the VIN, the plate or the unit number, so that it is found."
        ]

    def test_refuses_a_second_vehicle_with_the_number(self):
        register_vehicle(vin="ZZZAB1C29J1000117")
        with pytest.raises(ValidationError) as refusal:
            register_vehicle(vin="ZZZAB1C29J1000117")
        assert refusal.value.messages == ["Another vehicle has this VIN; open that one."]


class TestNameVehicle:
    def bare(self):
        vehicle = register_vehicle(plate="QX 417", in_service_on=date(2019, 5, 1))
        set_up_wheels(vehicle, on=SEEN)
        return vehicle

    def test_the_wheels_get_the_pieces_they_came_with(self):
        application = make_application(mounting="clamp_in")
        vehicle = name_vehicle(self.bare(), application, on=SEEN, by=None)
        assert vehicle.application == application
        pieces = Fitted.objects.filter(wheel__vehicle=vehicle)
        assert sorted(pieces.values_list("kind", flat=True)) == sorted(["body", "seal", "stem"] * 4)
        assert set(pieces.values_list("since", "since_known")) == {(date(2019, 5, 1), "factory")}

    def test_is_in_the_log_and_said_twice_changes_nothing(self):
        person, application, vehicle = make_user(), make_application(), self.bare()
        for _ in range(2):
            name_vehicle(vehicle, application, on=SEEN, by=person)
        change = Change.objects.of(vehicle).get()
        assert change.before == {"application": None}
        assert change.after == {"application": application.pk}
        assert change.by == person

    def test_another_application_must_be_meant(self):
        vehicle, other = make_vehicle(plate="QX 417"), make_application(model="Tour")
        with pytest.raises(ValidationError) as refusal:
            name_vehicle(vehicle, other, on=SEEN, by=None)
        assert refusal.value.messages == [
            "QX 417 is written down as 2013–2016 Merow Lista; say that it is to be changed, "
            "or leave it."
        ]
        assert name_vehicle(vehicle, other, on=SEEN, instead=True, by=None).application == other

    def test_pieces_that_are_there_stay_as_they_are(self):
        vehicle = make_vehicle(in_service_on=date(2019, 5, 1))
        set_up_wheels(vehicle, on=SEEN)
        before = set(Fitted.objects.values_list("pk", flat=True))
        name_vehicle(vehicle, make_application(), on=SEEN, instead=True, by=None)
        assert set(Fitted.objects.values_list("pk", flat=True)) == before


class TestSetUpWheels:
    def test_stands_four_wheels_on_their_corners(self):
        set_up_wheels(make_vehicle(), on=SEEN)
        assert set(Place.objects.values_list("position", flat=True)) == {
            "front_left",
            "front_right",
            "rear_left",
            "rear_right",
        }

    def test_factory_pieces_are_as_old_as_the_vehicle_and_first_seen_today(self):
        wheel = set_up_wheels(make_vehicle(in_service_on=date(2019, 5, 1)), on=SEEN)[0]
        body = wheel.fitted.get(kind="body")
        assert (body.since, body.since_known) == (date(2019, 5, 1), SinceKnown.FACTORY)
        assert body.first_seen_on == SEEN

    def test_a_clamp_in_has_a_seal_of_its_own_and_a_snap_in_has_none(self):
        clamped = set_up_wheels(make_vehicle(), on=SEEN)[0]
        snapped = set_up_wheels(make_vehicle(make_application(mounting="snap_in")), on=SEEN)[0]
        assert {p.kind for p in clamped.fitted.all()} == {"body", "stem", "seal"}
        assert {p.kind for p in snapped.fitted.all()} == {"body", "stem"}

    def test_body_and_stem_of_a_one_piece_sensor_are_joined(self):
        application = make_application(construction="one_piece")
        wheel = set_up_wheels(make_vehicle(application), on=SEEN)[0]
        assert wheel.fitted.get(kind="body").joined_with == wheel.fitted.get(kind="stem")

    def test_a_fifth_wheel_is_the_spare_and_carries_a_sensor_where_the_vehicle_says_so(self):
        bare = set_up_wheels(make_vehicle(), count=5, on=SEEN)[4]
        sensing = make_application(spare_has_sensor=True)
        with_sensor = set_up_wheels(make_vehicle(sensing), count=5, on=SEEN)[4]
        assert bare.places.get().position == Position.SPARE
        assert (bare.fitted.count(), with_sensor.fitted.count()) == (0, 3)

    def test_an_indirect_system_has_nothing_in_its_wheels(self):
        application = make_application(system="indirect", band="")
        set_up_wheels(make_vehicle(application), on=SEEN)
        assert not Fitted.objects.exists()

    def test_a_stored_set_is_a_set_and_its_age_is_what_was_told(self):
        vehicle = make_vehicle()
        set_up_wheels(vehicle, on=SEEN)
        wheels = set_up_wheels(
            vehicle,
            on=SEEN,
            set_name="Winter",
            stored_where="rack 4",
            stored=True,
            kind=WheelKind.OWN,
            pieces_since=date(2021, 10, 1),
        )
        assert {w.places.get().position for w in wheels} == {Position.STORED}
        assert vehicle.wheel_sets.get().stored_where == "rack 4"
        assert wheels[0].fitted.get(kind="body").since_known == SinceKnown.TOLD

    def test_wheels_of_unknown_age_start_without_pieces(self):
        wheels = set_up_wheels(make_vehicle(), on=SEEN, kind=WheelKind.REPLACEMENT)
        assert wheels[0].fitted.count() == 0

    def test_refuses_more_wheels_than_there_is_room(self):
        vehicle = make_vehicle(plate="QX 1")
        set_up_wheels(vehicle, on=SEEN)
        with pytest.raises(ValidationError) as refusal:
            set_up_wheels(vehicle, on=SEEN)
        assert refusal.value.messages == [
            "QX 1 has room for 1 more wheels; store the mounted ones first."
        ]

    def test_refuses_six(self):
        with pytest.raises(ValidationError) as refusal:
            set_up_wheels(make_vehicle(), on=SEEN, count=6)
        assert refusal.value.messages == ["A set has 1 to 5 wheels; 6 was asked for."]


class TestChangeVehicle:
    @staticmethod
    def said(vehicle, **fields):
        known = {
            "vin": vehicle.vin,
            "plate": vehicle.plate,
            "unit_number": "",
            "account": None,
            "built_month": None,
            "built_known": "",
            "pressure_set_kpa": None,
            "keeper_name": "",
            "keeper_phone": "",
            "somebody_else": False,
        }
        return change_vehicle(vehicle, by=make_user("technician"), **known | fields)

    def test_changes_what_differs_and_logs_that_alone(self):
        vehicle = make_vehicle()
        self.said(vehicle, plate="QX 7000", pressure_set_kpa=420)
        vehicle.refresh_from_db()
        assert (vehicle.plate, vehicle.plate_key, vehicle.pressure_set_kpa) == (
            "QX 7000",
            "QX7000",
            420,
        )
        change = Change.objects.of(vehicle).get()
        assert change.after == {"plate": "QX 7000", "pressure_set_kpa": 420}

    def test_who_brings_it_is_never_in_the_log(self):
        vehicle = make_vehicle()
        self.said(vehicle, keeper_name="Ada Fisher", keeper_phone="555 0117")
        keeper = Keeper.objects.get(vehicles=vehicle)
        assert (keeper.name, keeper.phone) == ("Ada Fisher", "555 0117")
        assert not Change.objects.of(vehicle).exists()

    def test_refuses_to_leave_nothing_to_find_it_by(self):
        vehicle = make_vehicle()
        with pytest.raises(ValidationError) as refusal:
            self.said(vehicle, plate=" ", keeper_name="Ada Fisher")
        assert refusal.value.messages == [
            "Give the VIN, the plate or the unit number, so that it is found."
        ]
        vehicle.refresh_from_db()
        assert vehicle.keeper is None
