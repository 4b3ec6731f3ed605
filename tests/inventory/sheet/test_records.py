"""Rows of a plain record saved by the thousand."""

from datetime import date

import pytest

from inventory.sheet import Saved
from jobs.workshop.models import WheelId
from shopparts.workbook.registry import sheets
from tests.make import make_vehicle, make_wheels

pytestmark = pytest.mark.django_db


class TestSave:
    def test_a_row_that_ends_makes_room_for_the_one_that_begins(self):
        wheel = make_wheels(make_vehicle())[0]
        old = WheelId.objects.create(
            wheel=wheel, sensor_id="A1B2C3D4", origin="new", since=date(2024, 3, 1)
        )
        sheet = sheets()["Wheel ids"]
        (row,) = [row for row in sheet.rows() if row["wheel"] == wheel.key]
        row |= {"wheel": wheel.pk}
        ended = row | {"pk": old.pk, "until": date(2025, 5, 1)}
        begun = row | {"pk": None, "sensor_id": "E5F60718", "since": date(2025, 5, 1)}
        assert sheet.save([begun, ended], by=None) == Saved(added=1, changed=1)
        assert list(WheelId.objects.filter(wheel=wheel, until=None)) == [
            WheelId.objects.get(sensor_id="E5F60718")
        ]
