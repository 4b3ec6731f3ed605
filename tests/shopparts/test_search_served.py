from datetime import date

import pytest

from jobs.workshop.models import WheelId
from shopparts.search_served import vehicles_served
from tests.make import make_application, make_vehicle, make_wheels

pytestmark = pytest.mark.django_db


def found(text):
    return [hit.name for hit in vehicles_served(text, limit=8)]


class TestVehiclesServed:
    @pytest.mark.parametrize(
        "text", ["QX-71 b", "qx7", "17", "zzz8gdm9axkp0427", "ZZZ8 GDM9 AXKP 04278"]
    )
    def test_by_plate_unit_number_and_vin(self, text):
        make_vehicle(plate="QX 71B", unit_number="17", vin="ZZZ8GDM9AXKP04278")
        make_vehicle(plate="RR 99")
        assert found(text) == ["QX 71B"]

    def test_says_what_it_is(self):
        make_vehicle(make_application(), plate="QX 71B", model_year=2014)
        (hit,) = vehicles_served("qx71b", limit=8)
        assert hit.words == "2014 Merow Lista"

    @pytest.mark.parametrize("text", ["00A1B2C3", "a1 b2 c3", "10597059"])
    def test_by_a_sensor_id_in_hexadecimal_or_decimal(self, text):
        # 0xA1B2C3 is 10,597,059 in decimal (computed).
        vehicle = make_vehicle(plate="QX 71B")
        wheel = make_wheels(vehicle)[0]
        WheelId.objects.create(
            wheel=wheel, sensor_id="A1B2C3", origin="factory", since=date(2024, 3, 1)
        )
        assert found(text) == ["QX 71B"]

    def test_an_id_that_has_ended_names_nobody(self):
        wheel = make_wheels(make_vehicle())[0]
        WheelId.objects.create(
            wheel=wheel,
            sensor_id="A1B2C3",
            origin="factory",
            since=date(2024, 3, 1),
            until=date(2024, 4, 1),
        )
        assert found("A1B2C3") == []

    def test_a_letter_or_two_are_no_plate_yet(self):
        make_vehicle(plate="QX 71B")
        assert found("qx") == []
