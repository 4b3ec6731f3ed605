from datetime import UTC, date, datetime

import pytest
from django.core.exceptions import ValidationError

from jobs.workshop.actions.ids import WhoseId, confirm_printed_code, explain_id
from jobs.workshop.actions.wheels import set_wheel_id
from jobs.workshop.models import EndReason, SinceKnown
from tests.make import make_application, make_job, make_vehicle, make_wheels

pytestmark = pytest.mark.django_db
SEEN, NOW = date(2024, 3, 1), date(2026, 3, 1)
AT = datetime(2026, 3, 1, 12, tzinfo=UTC)


@pytest.fixture
def wheel():
    wheel = make_wheels(make_vehicle(), on=SEEN)[0]
    set_wheel_id(wheel, sensor_id="A1", origin="factory", on=SEEN)
    return wheel


def _explain(wheel, whose):
    job = make_job(wheel.vehicle)
    return explain_id(job, wheel=wheel, sensor_id="00b2", whose=whose, at=AT)


def _bodies(wheel):
    return list(wheel.fitted.filter(kind="body").order_by("pk"))


class TestExplainId:
    def test_an_id_written_down_wrong_is_corrected_and_the_life_goes_on(self, wheel):
        _explain(wheel, WhoseId.SAME_SENSOR)
        its = wheel.ids.get()
        assert (its.sensor_id, its.origin, its.since) == ("B2", "factory", SEEN)
        assert [body.ended_on for body in _bodies(wheel)] == [None]

    def test_another_shops_sensor_began_some_time_since_the_old_one_was_seen(self, wheel):
        _explain(wheel, WhoseId.OTHER_SHOP)
        old, new = _bodies(wheel)
        assert (old.ended_on, old.end_reason) == (NOW, EndReason.UNKNOWN)
        # Half of the 730 days from 1 March 2024.
        assert (new.since, new.since_known) == (date(2025, 3, 1), SinceKnown.GUESSED)
        assert new.first_seen_on == NOW
        assert wheel.ids.get(until=None).sensor_id == "B2"

    def test_one_prepared_here_begins_today(self, wheel):
        _explain(wheel, WhoseId.OURS)
        new = _bodies(wheel)[1]
        assert (new.since, new.since_known) == (NOW, SinceKnown.TOLD)

    def test_a_wheel_without_a_body_gets_one(self):
        bare = make_wheels(make_vehicle(), kind="own")[0]
        _explain(bare, WhoseId.OTHER_SHOP)
        assert _bodies(bare)[0].since == NOW

    def test_a_one_piece_sensor_goes_whole(self):
        wheel = make_wheels(make_vehicle(make_application(construction="one_piece")))[0]
        _explain(wheel, WhoseId.OTHER_SHOP)
        assert wheel.fitted.get(kind="stem").end_reason == EndReason.UNKNOWN

    def test_refuses_the_id_of_another_mounted_wheel(self, wheel):
        other = wheel.vehicle.wheels.order_by("key")[1]
        set_wheel_id(other, sensor_id="B2", origin="factory", on=SEEN)
        with pytest.raises(ValidationError) as refusal:
            _explain(wheel, WhoseId.SAME_SENSOR)
        assert refusal.value.messages == [
            "Front right already answers with B2; two mounted wheels cannot share an id. "
            "Read both again."
        ]


class TestConfirmPrintedCode:
    def test_is_kept(self, wheel):
        body = confirm_printed_code(_bodies(wheel)[0], code=" QB1-19 ")
        body.refresh_from_db()
        assert body.printed_code == "QB1-19"

    def test_refuses_another_than_the_known_one(self, wheel):
        body = confirm_printed_code(_bodies(wheel)[0], code="QB1-19")
        with pytest.raises(ValidationError) as refusal:
            confirm_printed_code(body, code="QB1-20")
        assert refusal.value.messages == [
            "This sensor body is known by QB1-19, not QB1-20; read it again, or end this one "
            "and fit the other."
        ]
