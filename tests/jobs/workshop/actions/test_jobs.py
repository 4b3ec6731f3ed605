from datetime import UTC, date, datetime
from functools import partial
from typing import Any

import pytest
from django.core.exceptions import ValidationError

from jobs.workshop.actions.findings import WheelHeard, record_readings
from jobs.workshop.actions.fitting import fit_issued_part
from jobs.workshop.actions.jobs import (
    close_job,
    note_lamp,
    open_job,
    plan_part,
    record_approval,
    record_comeback,
    record_declined,
)
from jobs.workshop.actions.lines import issue_part_for_job
from jobs.workshop.actions.pieces import end_piece, fit_part
from jobs.workshop.closing import needs
from jobs.workshop.models import Declined, Job, JobLine
from tests.make import (
    make_account,
    make_application,
    make_job,
    make_part,
    make_site,
    make_stock,
    make_user,
    make_vehicle,
    make_wheels,
)

pytestmark = pytest.mark.django_db
ALL_DONE = {
    "lamp_before": "flashes",
    "lamp_after": "off",
    "pressures_set_cold": True,
    "road_checked": True,
}


def _answering(job):
    lines = [WheelHeard(wheel=wheel) for wheel in job.vehicle.wheels.all()]
    record_readings(job, lines, by=make_user())


class TestOpenJob:
    def test_is_named_by_site_day_and_four_letters(self):
        site = make_site(code="QUAY", zone="America/Chicago")
        at = datetime(2026, 2, 4, 3, 0, tzinfo=UTC)
        job = open_job(make_vehicle(), site=site, kind="sensor", at=at)
        assert job.key.startswith("QUAY-260203-")
        assert len(job.key) == len("QUAY-260203-") + 4

    def test_an_account_pays_for_its_own_vehicle(self):
        account = make_account()
        job = open_job(make_vehicle(account=account), site=make_site(), kind="tire_change")
        assert (job.account, job.payer) == (account, "account")

    def test_refuses_a_second_open_job_on_a_vehicle(self):
        vehicle, site = make_vehicle(plate="QX 6"), make_site()
        first = open_job(vehicle, site=site, kind="sensor")
        with pytest.raises(ValidationError) as refusal:
            open_job(vehicle, site=site, kind="sensor")
        assert refusal.value.messages == [
            f"Job {first} is still open on QX 6; go on with that one."
        ]

    def test_a_booking_for_another_day_may_stand_beside_it(self):
        vehicle, site = make_vehicle(), make_site()
        open_job(vehicle, site=site, kind="sensor")
        booked = open_job(vehicle, site=site, kind="tire_change", booked_for=date(2026, 10, 1))
        assert list(Job.objects.booked()) == [booked]
        assert Job.objects.in_hand().count() == 1


class TestNoteLamp:
    def test_writes_it_down(self):
        job = make_job()
        note_lamp(job, before="flashes")
        job.refresh_from_db()
        assert job.lamp_before == "flashes"

    def test_refuses_to_say_it_anew_once_the_vehicle_has_left(self):
        job = close_job(make_job(key="J-l", kind="other"))
        with pytest.raises(ValidationError) as refusal:
            note_lamp(job, before="flashes")
        assert refusal.value.messages == ["Job J-l is closed; open a new one for more work."]


class TestPlanPart:
    def test_says_the_number_anew(self):
        job, part = make_job(), make_part()
        plan_part(job, part=part, quantity=2)
        plan_part(job, part=part, quantity=4)
        assert job.planned_parts.get().quantity == 4

    def test_refuses_none(self):
        with pytest.raises(ValidationError) as refusal:
            plan_part(make_job(), part=make_part(), quantity=0)
        assert refusal.value.messages == ["Plan at least 1 piece, or take the part off the plan."]


class TestRecordDeclined:
    def test_said_twice_is_one(self):
        job = make_job()
        said: dict[str, Any] = {"action": "stem", "why": "in spring"}
        assert record_declined(job, **said) == record_declined(job, **said)
        record_declined(job, **said, wheel=make_wheels(job.vehicle)[0])
        assert job.declined.count() == 2

    def test_is_shown_at_the_next_visit_until_it_is_done(self):
        vehicle = make_vehicle()
        wheel = make_wheels(vehicle)[0]
        before = make_job(vehicle, opened_at=datetime(2025, 10, 1, 9, tzinfo=UTC))
        declined = record_declined(before, wheel=wheel, action="stem", why="in spring")
        now = make_job(vehicle, opened_at=datetime(2026, 4, 1, 9, tzinfo=UTC))
        assert list(Declined.objects.waiting_for(now)) == [declined]
        JobLine.objects.create(job=now, kind="labour", wheel=wheel, action="stem")
        later = make_job(vehicle, opened_at=datetime(2026, 6, 1, 9, tzinfo=UTC))
        assert list(Declined.objects.waiting_for(later)) == []


class TestRecordApproval:
    def test_said_twice_is_one(self):
        job = make_job()
        said: dict[str, Any] = {"lines": "two bodies", "who": "A. Keeper", "how": "phone"}
        assert record_approval(job, **said) == record_approval(job, **said)
        assert job.approvals.count() == 1

    def test_refuses_an_approval_by_nobody(self):
        with pytest.raises(ValidationError) as refusal:
            record_approval(make_job(), lines="two bodies", who=" ", how="phone")
        assert refusal.value.messages == ["Write down who agreed."]


class TestRecordComeback:
    def test_names_the_job_the_cause_and_who_pays(self):
        first = make_job(opened_at=datetime(2025, 10, 1, 9, tzinfo=UTC))
        again = make_job(first.vehicle)
        record_comeback(again, of=first, cause="our_work", payer="us")
        again.refresh_from_db()
        assert (again.comeback_of, again.cause, again.payer) == (first, "our_work", "us")

    def test_refuses_a_job_of_another_vehicle(self):
        job, other = make_job(make_vehicle(plate="QX 7"), key="J-1"), make_job(key="J-2")
        with pytest.raises(ValidationError) as refusal:
            record_comeback(job, of=other, cause="our_work", payer="us")
        assert refusal.value.messages == [
            "Job J-1 cannot be a comeback of job J-2; choose an earlier job of QX 7."
        ]

    def test_refuses_a_later_job(self):
        job = make_job(key="J-3", opened_at=datetime(2025, 10, 1, 9, tzinfo=UTC))
        later = make_job(job.vehicle, key="J-4")
        with pytest.raises(ValidationError) as refusal:
            record_comeback(job, of=later, cause="our_work", payer="us")
        assert refusal.value.messages == ["Job J-4 came after job J-3; choose an earlier one."]


class TestCloseJob:
    def test_a_sensor_job_asks_for_all_it_needs_in_order(self):
        vehicle = make_vehicle()
        make_wheels(vehicle)
        with pytest.raises(ValidationError) as refusal:
            close_job(make_job(vehicle))
        assert refusal.value.messages == [
            "Say how the lamp was before the work.",
            "Restart and say how the lamp is after the work.",
            "Trigger the sensor front left and write it down.",
            "Trigger the sensor front right and write it down.",
            "Trigger the sensor rear left and write it down.",
            "Trigger the sensor rear right and write it down.",
            "Set all pressures cold to the placard and read them back.",
            "Drive it and see that the lamp stays off.",
        ]

    def test_closes_when_everything_is_done_on_the_sites_own_day(self):
        site = make_site(zone="America/Chicago")
        vehicle = make_vehicle()
        make_wheels(vehicle)
        job = make_job(vehicle, site=site, opened_at=datetime(2026, 2, 3, 20, tzinfo=UTC))
        _answering(job)
        closed = close_job(job, answers=ALL_DONE, at=datetime(2026, 2, 4, 3, tzinfo=UTC))
        assert (closed.closed_on, closed.left_open_reason) == (date(2026, 2, 3), "")

    def test_a_reason_stands_for_what_is_missing(self):
        vehicle = make_vehicle()
        make_wheels(vehicle)
        closed = close_job(make_job(vehicle), reason="towed away before the road check")
        assert closed.left_open_reason == "towed away before the road check"

    def test_wheel_nuts_are_asked_about_once_a_wheel_came_off(self):
        vehicle = make_vehicle()
        wheel = make_wheels(vehicle)[0]
        job = make_job(vehicle)
        fit_part(wheel, part=make_part("body"), on=date(2026, 2, 3), job=job)
        _answering(job)
        with pytest.raises(ValidationError) as refusal:
            close_job(job, answers=ALL_DONE)
        assert refusal.value.messages == [
            "Tighten the wheel nuts to the vehicle maker's torque and order."
        ]

    def test_a_new_sensor_has_to_answer_itself(self):
        vehicle = make_vehicle()
        wheel = make_wheels(vehicle)[0]
        job, body = make_job(vehicle), make_part("body", list_price_cents=4200)
        make_stock(body, job.site)
        # The old one still answered, with a weak battery.
        _answering(job)
        fit_issued_part(issue_part_for_job(job, part=body, wheel=wheel, by=None, key="k"), by=None)
        answers = ALL_DONE | {"wheel_nuts_tightened": True}
        with pytest.raises(ValidationError) as refusal:
            close_job(job, answers=answers)
        assert refusal.value.messages == ["Trigger the sensor front left and write it down."]
        record_readings(job, [WheelHeard(wheel=wheel)], by=make_user())
        assert close_job(job, answers=answers).closed_at is not None

    def test_a_lamp_that_stays_lit_needs_a_reason(self):
        job = make_job(kind="relearn")
        with pytest.raises(ValidationError) as refusal:
            close_job(job, answers={"lamp_before": "flashes", "lamp_after": "flashes"})
        assert refusal.value.messages == ["The lamp does not stay off after the work."]

    def test_a_tire_change_asks_for_the_lamp_and_the_wheels_alone(self):
        vehicle = make_vehicle()
        make_wheels(vehicle)
        job = make_job(vehicle, kind="tire_change")
        _answering(job)
        assert close_job(job, answers={"lamp_after": "off"}).closed_at is not None

    def test_an_indirect_system_has_no_sensor_to_trigger(self):
        vehicle = make_vehicle(make_application(system="indirect", band=""))
        make_wheels(vehicle)
        job = make_job(vehicle, kind="tire_change")
        assert close_job(job, answers={"lamp_after": "off"}).closed_at is not None

    def test_a_wheel_without_a_sensor_is_not_fitted_to_a_working_system_in_silence(self):
        # The agency's letter of November 2011 (published, read in the trade press): such wheels
        # may not be fitted to a vehicle whose system works; move, sell sensors, or decline.
        vehicle = make_vehicle()
        wheels = make_wheels(vehicle)
        job = make_job(vehicle, kind="tire_change", lamp_before="off", lamp_after="off")
        bare = [WheelHeard(wheel=wheels[0], heard="plain_valve")]
        lines = bare + [WheelHeard(wheel=wheel) for wheel in wheels[1:]]
        record_readings(job, lines, by=make_user())
        with pytest.raises(ValidationError) as refusal:
            close_job(job, reason="in a hurry")
        assert refusal.value.messages == [
            "Front left: no sensor, on a vehicle whose system told no fault before the work: "
            "move the sensors, sell sensors or decline. Say how the lamp was, or write down who "
            "decided."
        ]
        assert close_job(job, answers={"lamp_before": "flashes"}).closed_at is not None

    def test_a_sensor_we_broke_is_never_released_in_silence(self):
        # 49 U.S.C. 30122(b) and the agency's letter of November 2011 (published, read in the
        # trade press): a working sensor that the shop breaks must work again before release.
        vehicle = make_vehicle()
        wheel = make_wheels(vehicle)[0]
        job = make_job(vehicle, kind="other")
        broken = wheel.fitted.get(kind="body")
        end_piece(broken, reason="broken_by_us", on=date(2026, 2, 3), job=job)
        with pytest.raises(ValidationError) as refusal:
            close_job(job, reason="part comes tomorrow")
        assert refusal.value.messages == [
            "Front left: a sensor broke in our hands and none works in its place: it must work "
            "again before the vehicle leaves. Write down who decides otherwise."
        ]
        record_approval(
            job,
            lines="drive to the other site",
            who="B. Owner",
            how="in person",
            decides_safety=True,
        )
        assert close_job(job, reason="part comes tomorrow").closed_at is not None

    def test_a_broken_sensor_replaced_by_one_that_answers_is_no_matter(self):
        vehicle = make_vehicle()
        wheel = make_wheels(vehicle)[0]
        job = make_job(vehicle, kind="other")
        reasons = {"body": "broken_by_us"}
        fit_part(wheel, part=make_part("body"), on=date(2026, 2, 3), job=job, reasons=reasons)
        record_readings(job, [WheelHeard(wheel=wheel)], by=make_user())
        assert close_job(job).closed_at is not None

    def test_a_plain_valve_in_place_of_a_sensor_needs_someone_who_decided(self):
        vehicle = make_vehicle(make_application(mounting="snap_in"))
        wheel = make_wheels(vehicle)[0]
        job = make_job(vehicle, kind="other")
        fit_part(
            wheel,
            part=make_part("plain_valve", mounting="snap_in"),
            on=date(2026, 2, 3),
            job=job,
            reasons={"body": "silent"},
        )
        with pytest.raises(ValidationError) as refusal:
            close_job(job, reason="customer wants it so")
        assert refusal.value.messages == [
            "Front left: a plain valve stands where a sensor belongs: write down who decided."
        ]

    @pytest.mark.parametrize("reading", ["plain_valve", "broken"])
    def test_a_yes_to_a_price_is_no_decision_about_a_sensor(self, reading):
        vehicle = make_vehicle()
        wheel = make_wheels(vehicle)[0]
        job = make_job(vehicle, kind="other", lamp_before="off")
        if reading == "broken":
            body = wheel.fitted.get(kind="body")
            end_piece(body, reason="broken_by_us", on=date(2026, 2, 3), job=job)
        else:
            bare = WheelHeard(wheel=wheel, heard="plain_valve")
            record_readings(job, [bare], by=make_user())
        record_approval(job, lines="149.00 for a body", who="Mr Reed", how="phone")
        [need] = needs(job)
        assert need.decides == (wheel.pk, "Front left")
        record_approval(job, lines="drives on", who="Mr Reed", how="phone", decides_safety=True)
        assert needs(job) == []

    def test_a_decision_about_one_wheel_is_none_about_another(self):
        vehicle = make_vehicle()
        wheels = make_wheels(vehicle)[:2]
        job = make_job(vehicle, kind="other")
        for wheel in wheels:
            body = wheel.fitted.get(kind="body")
            end_piece(body, reason="broken_by_us", on=date(2026, 2, 3), job=job)
        decides = partial(
            record_approval, job, lines="drives on", who="A", how="phone", decides_safety=True
        )
        decides(wheel=wheels[0])
        [need] = needs(job)
        assert need.decides == (wheels[1].pk, "Front right")
        decides(wheel=wheels[1])
        assert needs(job) == []

    def test_a_job_above_the_limit_of_its_account_asks_its_approver(self):
        account = make_account(
            name="Tern Parcels", limit_cents=10_000, approver="R. Tern", order_number_needed=True
        )
        job = make_job(make_vehicle(account=account), kind="other", account=account)
        JobLine.objects.create(job=job, kind="labour", price_cents=10_001, payer="account")
        with pytest.raises(ValidationError) as refusal:
            close_job(job)
        assert refusal.value.messages == [
            "Tern Parcels wants its order number on the job.",
            "The job is above the limit of Tern Parcels; ask R. Tern and write it down.",
        ]

    def test_only_lines_and_approvals_of_the_account_count_for_its_limit(self):
        account = make_account(limit_cents=10_000)
        job = make_job(make_vehicle(account=account), kind="other", account=account)
        line = JobLine.objects.create(job=job, kind="labour", price_cents=10_001, payer="us")
        assert needs(job) == []
        JobLine.objects.filter(pk=line.pk).update(payer="account")
        record_approval(job, lines="the driver agrees", who="A. Driver", how="in person")
        [need] = needs(job)
        assert need.limit
        record_approval(job, lines="all", who="R. Tern", how="phone", above_limit=True)
        assert needs(job) == []

    def test_refuses_to_close_twice(self):
        job = close_job(make_job(key="J-c", kind="other"))
        with pytest.raises(ValidationError) as refusal:
            close_job(job)
        assert refusal.value.messages == ["Job J-c is closed; open a new one for more work."]

    def test_the_programmer_hears_of_a_field_that_is_not_asked_for(self):
        with pytest.raises(LookupError, match="“payer” is not asked for when a job is closed"):
            close_job(make_job(), answers={"payer": "us"})
