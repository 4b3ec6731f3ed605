from datetime import UTC, date, datetime

import pytest

from jobs.workshop.actions.jobs import record_comeback, record_declined
from jobs.workshop.actions.pieces import fit_part, move_piece
from jobs.workshop.actions.vehicles import set_up_wheels
from jobs.workshop.actions.wheels import place_wheel, set_wheel_id
from jobs.workshop.timeline import timeline
from tests.make import make_job, make_part, make_site, make_vehicle, make_wheels

pytestmark = pytest.mark.django_db


class TestTimeline:
    def test_tells_everything_dated_newest_first(self):
        vehicle = make_vehicle(in_service_on=date(2019, 5, 1))
        wheel = make_wheels(vehicle, count=1, on=date(2024, 3, 1))[0]
        site = make_site(zone="America/Chicago")
        first = make_job(
            vehicle, site=site, opened_at=datetime(2026, 2, 4, 3, tzinfo=UTC), odometer_km=84_000
        )
        set_wheel_id(wheel, sensor_id="A1", origin="factory", on=date(2024, 3, 1))
        fit_part(
            wheel,
            part=make_part("body", number="QB-1"),
            on=date(2026, 2, 3),
            job=first,
            reasons={"body": "silent"},
        )
        record_declined(
            first, wheel=wheel, action="stem", why="in spring", at=datetime(2026, 2, 4, tzinfo=UTC)
        )
        again = make_job(vehicle, site=site, opened_at=datetime(2026, 3, 2, 15, tzinfo=UTC))
        record_comeback(again, of=first, cause="our_work", payer="us")
        place_wheel(wheel, position="stored", on=date(2026, 4, 1))
        told = [(one.on.isoformat(), one.words) for one in timeline(vehicle)]
        assert told == sorted(told, key=lambda one: one[0], reverse=True)
        assert set(told) >= {
            ("2026-04-01", "Stored"),
            ("2026-03-02", f"Sensor job, came back from {first}: our work"),
            ("2026-02-03", "Sensor job, at 84,000 km"),
            ("2026-02-03", "Declined: replace the stem; in spring"),
            ("2026-02-03", "Sensor body QB-1 fitted"),
            ("2026-02-03", "Sensor body off: silent"),
            ("2024-03-01", "Answers with A1 (factory)"),
            ("2024-03-01", f"Mounted: {wheel} front left"),
            ("2019-05-01", "Sensor body there since then (factory fitted)"),
        }

    def test_what_happened_alike_to_several_wheels_is_told_once(self):
        vehicle = make_vehicle(in_service_on=date(2019, 5, 1))
        wheels = make_wheels(vehicle, count=2, on=date(2024, 3, 1))
        for wheel in wheels:
            place_wheel(wheel, position="stored", on=date(2026, 4, 1))
        job = make_job(vehicle, words="wheels into the loft", kind="other")
        told = {one.words: one.wheels for one in timeline(vehicle)}
        assert told == {
            "Stored": tuple(wheels),
            f"Mounted: {wheels[0]} front left, {wheels[1]} front right": (),
            "Sensor body there since then (factory fitted)": tuple(wheels),
            "Stem there since then (factory fitted)": tuple(wheels),
            "Seal there since then (factory fitted)": tuple(wheels),
            "Other: wheels into the loft": (),
        }
        assert job in {one.job for one in timeline(vehicle)}

    def test_a_moved_piece_is_told_once(self):
        vehicle = make_vehicle()
        wheel = make_wheels(vehicle)[0]
        other = set_up_wheels(vehicle, count=1, on=date(2024, 3, 1), kind="replacement")[0]
        move_piece(wheel.fitted.get(kind="body"), to=other, on=date(2025, 3, 1))
        told = [one.words for one in timeline(vehicle) if one.on == date(2025, 3, 1)]
        assert told == [f"Sensor body moved here from wheel {wheel.key}"]

    def test_asks_five_queries_however_long_the_history(self, django_assert_num_queries):
        vehicle = make_vehicle()
        make_wheels(vehicle, count=5)
        for _ in range(3):
            make_job(vehicle)
        with django_assert_num_queries(5):
            timeline(vehicle)
