from datetime import UTC, date, datetime

import pytest

from jobs.workshop.actions.pieces import end_piece, fit_part, fit_piece, move_piece
from jobs.workshop.actions.vehicles import set_up_wheels
from jobs.workshop.actions.wheels import rotate_wheels, swap_sets
from jobs.workshop.lives import Event, Family, life_records, lives_by_family
from jobs.workshop.models import EndReason, Fitted, SinceKnown
from tests.make import make_application, make_job, make_part, make_vehicle, make_wheels

pytestmark = pytest.mark.django_db
NEW, SEEN, LATER = date(2019, 5, 1), date(2024, 3, 1), date(2026, 2, 3)


def _years(first, last):
    return (last - first).days / 365.25


def _wheel(count=1, **application):
    return make_wheels(make_vehicle(make_application(**application)), count=count, on=SEEN)[0]


def _good(piece, on):
    Fitted.objects.filter(pk=piece.pk).update(last_good_on=on)
    piece.refresh_from_db()
    return piece


def _body(wheel):
    return wheel.fitted.get(kind="body", ended_on=None)


def _record(piece):
    return next(record for record in life_records() if record.piece == piece.pk)


def _lamp_job(wheel, **fields):
    return make_job(wheel.vehicle, lamp_before="flashes", **fields)


class TestLifeRecords:
    def test_a_factory_part_comes_under_our_eyes_at_an_age(self):
        record = _record(_good(_body(_wheel()), LATER))
        assert record.entry == pytest.approx(_years(NEW, SEEN))
        assert record.exit == pytest.approx(_years(NEW, LATER))
        assert record.event is Event.ALIVE

    def test_one_still_fitted_was_watched_until_last_seen_good_and_no_longer(self):
        # The vehicle may have gone to another shop since: today's date says nothing.
        record = _record(_good(_body(_wheel()), date(2025, 3, 1)))
        assert record.exit == pytest.approx(_years(NEW, date(2025, 3, 1)))

    def test_one_seen_only_once_says_nothing(self):
        _wheel()
        assert life_records() == []

    def test_one_dead_when_first_seen_says_nothing(self):
        wheel = _wheel()
        body = _body(wheel)
        end_piece(body, reason=EndReason.SILENT, on=SEEN, job=_lamp_job(wheel))
        assert [record.piece for record in life_records()] == []

    def test_a_failure_that_lit_the_lamp_happened_when_the_vehicle_came(self):
        wheel = _wheel()
        body = _good(_body(wheel), date(2025, 3, 1))
        end_piece(body, reason=EndReason.SILENT, on=LATER, job=_lamp_job(wheel))
        record = _record(body)
        assert record.event is Event.FAILED
        assert record.exit == pytest.approx(_years(NEW, LATER))

    def test_a_failure_found_at_a_tire_change_happened_since_it_was_last_good(self):
        wheel = _wheel()
        body = _good(_body(wheel), date(2025, 3, 1))
        job = make_job(wheel.vehicle, kind="tire_change")
        end_piece(body, reason=EndReason.SILENT, on=LATER, job=job)
        record = _record(body)
        assert record.event is Event.FOUND_FAILED
        assert record.last_good == pytest.approx(_years(NEW, date(2025, 3, 1)))

    @pytest.mark.parametrize(
        "reason", [EndReason.REPLACED_GOOD, EndReason.DAMAGED, EndReason.BROKEN_BY_US]
    )
    def test_what_came_off_good_did_not_fail(self, reason):
        wheel = _wheel()
        body = _good(_body(wheel), date(2025, 3, 1))
        end_piece(body, reason=reason, on=LATER)
        record = _record(body)
        assert (record.event, record.exit) == (Event.ALIVE, pytest.approx(_years(NEW, LATER)))

    def test_what_came_off_for_reasons_unknown_was_watched_until_last_good(self):
        wheel = _wheel()
        body = _good(_body(wheel), date(2025, 3, 1))
        end_piece(body, reason=EndReason.UNKNOWN, on=LATER)
        assert _record(body).exit == pytest.approx(_years(NEW, date(2025, 3, 1)))

    def test_of_a_one_piece_sensor_one_half_fails_and_the_other_is_censored(self):
        wheel = _wheel(construction="one_piece")
        body = _good(_body(wheel), date(2025, 3, 1))
        end_piece(body, reason=EndReason.SILENT, on=LATER, job=_lamp_job(wheel))
        events = {record.family.kind: record.event for record in life_records()}
        assert events == {"body": Event.FAILED, "stem": Event.ALIVE}

    def test_a_body_in_another_rim_is_one_life(self):
        wheel = _wheel()
        spare = set_up_wheels(wheel.vehicle, count=1, on=SEEN, kind="replacement")[0]
        moved = move_piece(_body(wheel), to=spare, on=date(2025, 3, 1))[0]
        record = _record(_good(moved, LATER))
        assert record.entry == pytest.approx(_years(NEW, SEEN))
        assert record.exit == pytest.approx(_years(NEW, LATER))
        assert sum(r.family.kind == "body" for r in life_records()) == 1

    def test_a_copied_id_does_not_lend_its_age_to_the_new_body(self):
        wheel = _wheel()
        fit_part(
            wheel,
            part=make_part("body"),
            on=date(2025, 3, 1),
            reasons={"body": EndReason.SILENT},
            sensor_id="A1",
            id_origin="copied",
        )
        record = _record(_good(_body(wheel), LATER))
        assert (record.entry, record.exit) == (
            0.0,
            pytest.approx(_years(date(2025, 3, 1), LATER)),
        )

    def test_a_stored_set_ages_at_six_tenths(self):
        # 0.6 is an assumption, no source.
        vehicle = make_vehicle()
        make_wheels(vehicle, on=SEEN, set_name="Summer")
        winter = set_up_wheels(
            vehicle, on=SEEN, set_name="Winter", stored=True, kind="own", pieces_since=SEEN
        )
        mounted = date(2025, 10, 12)
        swap_sets(vehicle, mount=vehicle.wheel_sets.get(name="Winter"), on=mounted)
        record = _record(_good(_body(winter[0]), LATER))
        stored, rolled = _years(SEEN, mounted), _years(mounted, LATER)
        assert record.exit == pytest.approx(0.6 * stored + rolled)

    def test_ages_do_not_follow_the_position(self):
        vehicle = make_vehicle()
        wheels = make_wheels(vehicle, on=SEEN)
        young = wheels[0]
        fit_part(young, part=make_part("body"), on=date(2025, 3, 1))
        fl, rl = vehicle.wheels.order_by("key")[0], vehicle.wheels.order_by("key")[2]
        rotate_wheels(vehicle, positions={fl: "rear_left", rl: "front_left"}, on=date(2025, 6, 1))
        record = _record(_good(_body(young), LATER))
        assert record.exit == pytest.approx(_years(date(2025, 3, 1), LATER))

    def test_asks_two_queries_however_many_lives_there_are(self, django_assert_num_queries):
        for _ in range(3):
            _good(_body(_wheel(count=4)), LATER)
        with django_assert_num_queries(2):
            assert len(life_records()) == 3

    def test_a_plain_valve_is_no_sensors_stem(self):
        wheel = _wheel(mounting="snap_in")
        fit_part(wheel, part=make_part("plain_valve", mounting="snap_in"), on=LATER)
        valve = wheel.fitted.get(kind="stem", ended_on=None)
        _good(valve, date(2026, 8, 1))
        assert valve.pk not in {record.piece for record in life_records()}


class TestLivesByFamily:
    def test_a_family_is_mounting_construction_kind_and_maker(self):
        wheel = _wheel(mounting="clamp_in", construction="two_piece", make="Merow")
        _good(_body(wheel), LATER)
        assert list(lives_by_family()) == [Family("body", "clamp_in", "two_piece", "Merow")]

    def test_a_part_we_fitted_is_of_its_makers_family(self):
        wheel = _wheel()
        part = make_part("body", maker="Skarn", mounting="clamp_in", construction="two_piece")
        fit_part(wheel, part=part, on=date(2025, 3, 1))
        _good(_body(wheel), LATER)
        assert Family("body", "clamp_in", "two_piece", "Skarn") in lives_by_family()

    def test_nobody_knows_who_made_what_was_found_on_the_wheel(self):
        wheel = _wheel(mounting="clamp_in", construction="unknown")
        end_piece(_body(wheel), reason=EndReason.UNKNOWN, on=SEEN)
        found = fit_piece(
            wheel, kind="body", on=SEEN, since=date(2022, 1, 1), since_known=SinceKnown.GUESSED
        )
        _good(found, LATER)
        assert Family("body", "clamp_in", "unknown", "") in lives_by_family()


def test_the_instant_of_a_job_is_not_what_a_life_ends_on():
    wheel = _wheel()
    body = _good(_body(wheel), date(2025, 3, 1))
    job = _lamp_job(wheel, opened_at=datetime(2026, 2, 3, 23, 30, tzinfo=UTC))
    end_piece(body, reason=EndReason.SILENT, on=LATER, job=job)
    assert _record(body).ended_on == LATER
