from datetime import date

import pytest

from jobs.workshop.actions.pieces import move_piece
from jobs.workshop.actions.vehicles import set_up_wheels
from jobs.workshop.actions.wheels import rotate_wheels, set_wheel_id
from jobs.workshop.models import Vehicle
from jobs.workshop.standing import standing
from tests.make import make_vehicle, make_wheels

pytestmark = pytest.mark.django_db
SEEN, NOW = date(2024, 3, 1), date(2026, 2, 3)


def _standing(vehicle):
    return standing(Vehicle.objects.for_page().get(pk=vehicle.pk), on=NOW)


class TestStanding:
    def test_goes_round_the_vehicle_and_keeps_the_stored_set_apart(self):
        vehicle = make_vehicle()
        make_wheels(vehicle, count=5)
        set_up_wheels(vehicle, on=SEEN, set_name="Winter", stored=True)
        stands = _standing(vehicle)
        assert [wheel.where for wheel in stands.mounted] == [
            "Front left",
            "Front right",
            "Rear left",
            "Rear right",
            "Spare",
        ]
        ((its_set, wheels),) = stands.stored.items()
        assert (its_set.name, len(wheels)) == ("Winter", 4)

    def test_a_wheel_takes_its_id_and_ages_to_its_new_place(self):
        vehicle = make_vehicle(in_service_on=date(2019, 5, 1))
        fl, _, rl, _ = make_wheels(vehicle)
        set_wheel_id(fl, sensor_id="A1", origin="factory", on=SEEN)
        rotate_wheels(vehicle, positions={fl: "rear_left", rl: "front_left"}, on=NOW)
        rear_left = _standing(vehicle).mounted[2]
        assert (rear_left.wheel, rear_left.sensor_id.sensor_id) == (fl, "A1")
        assert rear_left.body.age_years == pytest.approx((NOW - date(2019, 5, 1)).days / 365.25)
        assert rear_left.body.age_known

    def test_a_moved_body_is_as_old_as_it_was(self):
        vehicle = make_vehicle()
        wheel = make_wheels(vehicle)[0]
        other = set_up_wheels(vehicle, count=1, on=SEEN, kind="replacement")[0]
        move_piece(wheel.fitted.get(kind="body"), to=other, on=date(2025, 3, 1))
        spare = _standing(vehicle).mounted[4]
        assert spare.body.age_years == pytest.approx((NOW - date(2019, 5, 1)).days / 365.25)
        assert (spare.body.piece.since, spare.body.new_on) == (date(2025, 3, 1), date(2019, 5, 1))

    def test_an_age_guessed_from_the_model_year_says_so(self):
        vehicle = make_vehicle(in_service_on=None, model_year=2018)
        make_wheels(vehicle)
        assert not _standing(vehicle).mounted[0].body.age_known

    def test_the_ids_heard_name_the_silent_wheel(self):
        vehicle = make_vehicle()
        for number, wheel in enumerate(make_wheels(vehicle)):
            set_wheel_id(wheel, sensor_id=f"A{number}", origin="factory", on=SEEN)
        silent = _standing(vehicle).heard(["A0", "a2", "00A3"]).silent
        assert silent == vehicle.wheels.get(ids__sensor_id="A1").key

    def test_asks_as_many_queries_for_nine_wheels_as_for_four(self, django_assert_num_queries):
        small, large = make_vehicle(), make_vehicle()
        make_wheels(small)
        make_wheels(large, count=5)
        set_up_wheels(large, on=SEEN, set_name="Winter", stored=True, pieces_since=SEEN)
        for vehicle in (small, large):
            # The vehicle; its sets, wheels, places, ids, pieces. Nothing was moved, so that no
            # earlier rims are read.
            with django_assert_num_queries(7 if vehicle is large else 6):
                _standing(vehicle)
