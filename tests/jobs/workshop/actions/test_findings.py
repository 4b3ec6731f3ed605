from datetime import UTC, date, datetime, timedelta

import pytest
from django.core.exceptions import ValidationError

from inventory.catalog.models import Evidence, VinPattern
from jobs.workshop.actions.findings import (
    WheelHeard,
    give_advice,
    record_inspection,
    record_readings,
    take_advice,
)
from jobs.workshop.actions.jobs import close_job
from jobs.workshop.actions.pieces import fit_part
from jobs.workshop.models import AdviceGiven, Heard, IdOrigin, Reading
from tests.make import make_application, make_job, make_part, make_user, make_vehicle, make_wheels

pytestmark = pytest.mark.django_db
AT = datetime(2026, 2, 3, 15, 0, tzinfo=UTC)
DAY = date(2026, 2, 3)


@pytest.fixture
def job():
    vehicle = make_vehicle(plate="QX 5", vin="ZZZAB1C29J1000117", model_year=2018)
    make_wheels(vehicle)
    return make_job(vehicle, key="J-f")


@pytest.fixture
def wheels(job):
    return list(job.vehicle.wheels.order_by("key"))


def _read(job, heard, **fields):
    return record_readings(job, heard, by=make_user(), **{"at": AT} | fields)


class TestRecordReadings:
    def test_writes_a_whole_vehicle_in_a_constant_number_of_queries(
        self, job, wheels, django_assert_num_queries, django_assert_max_num_queries
    ):
        by = make_user()
        lines = [WheelHeard(wheel=w, sensor_id=f"A{n}") for n, w in enumerate(wheels)]
        with django_assert_max_num_queries(16):
            record_readings(job, lines, by=by, at=AT)
        assert Reading.objects.filter(job=job, heard=Heard.ANSWERED).count() == 4

    def test_a_body_that_answers_was_good_that_day_and_a_weak_one_was_not(self, job, wheels):
        _read(
            job,
            [
                WheelHeard(wheel=wheels[0]),
                WheelHeard(wheel=wheels[1], battery="weak"),
                WheelHeard(wheel=wheels[2], heard=Heard.SILENT, tries=2),
            ],
        )
        good = [w.fitted.get(kind="body").last_good_on for w in wheels[:3]]
        assert good == [DAY, None, None]

    def test_sent_twice_from_one_page_it_is_written_down_once(self, job, wheels):
        heard = [WheelHeard(wheel=wheels[0]), WheelHeard(wheel=wheels[1], heard=Heard.SILENT)]
        first = record_readings(job, heard, by=make_user(), after=0)
        assert record_readings(job, heard, by=make_user(), after=0) == first
        assert job.readings.count() == 2

    def test_said_again_from_a_later_page_it_is_another_reading(self, job, wheels):
        heard = [WheelHeard(wheel=wheels[0])]
        [first] = record_readings(job, heard, by=make_user(), after=0)
        [second] = record_readings(job, heard, by=make_user(), after=first.pk)
        assert second.pk > first.pk

    def test_another_wheel_said_from_the_same_page_is_written_down(self, job, wheels):
        record_readings(job, [WheelHeard(wheel=wheels[0])], by=make_user(), after=0)
        both = [WheelHeard(wheel=wheels[0]), WheelHeard(wheel=wheels[1])]
        assert len(record_readings(job, both, by=make_user(), after=0)) == 2
        assert job.readings.count() == 3

    def test_a_gauge_says_nothing_about_the_sensor(self, job, wheels):
        _read(job, [WheelHeard(wheel=wheels[0], pressure_kpa=228)], source="gauge")
        assert wheels[0].fitted.get(kind="body").last_good_on is None

    def test_a_wheel_learns_its_first_id(self, job, wheels):
        _read(job, [WheelHeard(wheel=wheels[0], sensor_id="00a1b2")])
        its = wheels[0].ids.get()
        assert (its.sensor_id, its.origin, its.since) == ("A1B2", IdOrigin.FACTORY, DAY)

    def test_another_id_than_the_known_one_is_left_to_be_asked_about(self, job, wheels):
        _read(job, [WheelHeard(wheel=wheels[0], sensor_id="A1")])
        _read(job, [WheelHeard(wheel=wheels[0], sensor_id="B2")], at=AT.replace(hour=16))
        assert wheels[0].ids.get().sensor_id == "A1"

    def test_another_id_is_no_proof_that_the_known_body_was_good(self, job, wheels):
        _read(job, [WheelHeard(wheel=wheels[0], sensor_id="A1")])
        later = AT + timedelta(days=90)
        _read(job, [WheelHeard(wheel=wheels[0], sensor_id="B2")], at=later)
        assert wheels[0].fitted.get(kind="body").last_good_on == DAY

    def test_refuses_a_pressure_from_a_silent_sensor(self, job, wheels):
        with pytest.raises(ValidationError) as refusal:
            _read(job, [WheelHeard(wheel=wheels[0], heard=Heard.SILENT, pressure_kpa=220)])
        key = wheels[0].key
        assert refusal.value.messages == [
            f"Wheel {key} was silent and cannot have told a pressure or an id; "
            "correct what was heard."
        ]

    def test_refuses_a_wheel_of_another_vehicle(self, job):
        other = make_wheels(make_vehicle(key="V-x"))[0]
        with pytest.raises(ValidationError) as refusal:
            _read(job, [WheelHeard(wheel=other)])
        assert refusal.value.messages == [
            "Wheel V-x-1 belongs to another vehicle; job J-f is about QX 5."
        ]

    def test_refuses_a_closed_job(self, job, wheels):
        close_job(job, reason="for the test")
        job.refresh_from_db()
        with pytest.raises(ValidationError) as refusal:
            _read(job, [WheelHeard(wheel=wheels[0])])
        assert refusal.value.messages == ["Job J-f is closed; open a new one for more work."]


class TestLearnFromAnswers:
    def _fitted(self, job, wheel):
        part = make_part("body")
        fit_part(wheel, part=part, on=DAY, job=job)
        return part

    def test_a_fitted_part_that_answers_is_confirmed_once(self, job, wheels):
        part = self._fitted(job, wheels[0])
        for hour in (15, 16):
            _read(job, [WheelHeard(wheel=wheels[0])], at=AT.replace(hour=hour))
        evidence = Evidence.objects.get()
        assert (evidence.part, evidence.kind, evidence.job_key) == (part, "confirmed", "J-f")

    def test_a_part_heard_in_another_band_is_contradicted(self, job, wheels):
        self._fitted(job, wheels[0])
        _read(job, [WheelHeard(wheel=wheels[0], heard=Heard.WRONG_BAND, band="315")])
        evidence = Evidence.objects.get()
        assert evidence.kind == "contradicted"
        assert evidence.reason == "Answered in a band this vehicle does not hear."

    def test_the_sensor_that_came_with_the_vehicle_teaches_nothing(self, job, wheels):
        _read(job, [WheelHeard(wheel=wheels[0])])
        assert not Evidence.objects.exists()

    def test_a_customers_own_wheel_teaches_nothing(self, job, wheels):
        self._fitted(job, wheels[0])
        type(wheels[0]).objects.update(kind="own")
        _read(job, [WheelHeard(wheel=wheels[0], heard=Heard.WRONG_BAND)])
        assert not Evidence.objects.exists()

    def test_a_vehicle_counts_once_for_the_beginning_of_its_number(self, job, wheels):
        self._fitted(job, wheels[0])
        _read(job, [WheelHeard(wheel=wheels[0])])
        second = make_job(job.vehicle)
        self._fitted(second, wheels[1])
        _read(second, [WheelHeard(wheel=wheels[1])])
        pattern = VinPattern.objects.get()
        assert (pattern.start, pattern.year, pattern.vehicles) == ("ZZZAB1C2", 2018, 1)


class TestRecordInspection:
    def test_a_sound_stem_and_a_tight_seal_were_good_that_day(self, job, wheels):
        record_inspection(job, wheel=wheels[0], stem="sound")
        today = job.site.today()
        assert [wheels[0].fitted.get(kind=k).last_good_on for k in ("stem", "seal")] == [
            today,
            today,
        ]

    def test_what_nobody_looked_at_stays_unknown(self, job, wheels):
        record_inspection(job, wheel=wheels[0], tire_off=True)
        assert wheels[0].fitted.get(kind="stem").last_good_on is None

    def test_a_second_look_replaces_the_first(self, job, wheels):
        record_inspection(job, wheel=wheels[0], stem="sound")
        record_inspection(job, wheel=wheels[0], stem="corroded", leak_at="stem")
        assert job.inspections.get().stem == "corroded"


class TestGiveAdvice:
    def _give(self, job, wheel, **fields):
        shown = {"action": "body", "strength": "must", "because": "silent after two tries"}
        return give_advice(job, wheel=wheel, **shown | fields)

    def test_the_same_advice_is_kept_once_however_often_the_page_shows_it(self, job, wheels):
        first = self._give(job, wheels[0], sure_per_mille=900)
        assert self._give(job, wheels[0], sure_per_mille=900) == first

    def test_what_was_shown_before_stays_when_the_advice_changes(self, job, wheels):
        self._give(job, wheels[0], action="leave", strength="leave", because="answers")
        self._give(job, wheels[0])
        assert AdviceGiven.objects.filter(job=job).count() == 2


class TestTakeAdvice:
    def test_another_action_needs_a_reason(self, job, wheels):
        advice = give_advice(job, wheel=wheels[0], action="body", strength="must", because="silent")
        with pytest.raises(ValidationError) as refusal:
            take_advice(advice, taken="assembly")
        assert refusal.value.messages == [
            "The advice was “replace the sensor body”; say in a few words why "
            "“replace the whole assembly” is better here."
        ]
        take_advice(advice, taken="assembly", reason="the screw is seized")
        advice.refresh_from_db()
        assert (advice.taken, advice.taken_reason) == ("assembly", "the screw is seized")


class TestApplicationUnknown:
    def test_a_vehicle_without_an_application_teaches_nothing(self):
        vehicle = make_vehicle(make_application())
        wheel = make_wheels(vehicle)[0]
        vehicle.application = None
        vehicle.save()
        job = make_job(vehicle)
        fit_part(wheel, part=make_part("body"), on=DAY, job=job)
        _read(job, [WheelHeard(wheel=wheel)])
        assert not Evidence.objects.exists()
