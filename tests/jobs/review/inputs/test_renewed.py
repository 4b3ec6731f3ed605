from datetime import UTC, date, datetime, timedelta

import pytest

from jobs.review.actions import do_on_wheel
from jobs.review.advised import advised
from jobs.review.inputs.renewed import renewed_on, still_found
from jobs.workshop.actions.findings import record_inspection
from jobs.workshop.actions.fitting import fit_issued_part
from jobs.workshop.actions.lines import issue_part_for_job
from jobs.workshop.actions.tire_change import change_tires_same_on_all
from jobs.workshop.models import Inspection
from tests.make import (
    make_application,
    make_fitment,
    make_job,
    make_part,
    make_stock,
    make_vehicle,
    make_wheels,
)

NOON = datetime(2026, 4, 7, 12, tzinfo=UTC)
AFTER = NOON + timedelta(minutes=20)


@pytest.fixture
def change(db):
    """A tire change on snap-in sensors, nothing done yet; with the rubber stem that fits."""
    application = make_application(mounting="snap_in", hole="453")
    part = make_part("stem", mounting="snap_in", hole="453", list_price_cents=750)
    make_fitment(application, part)
    vehicle = make_vehicle(application, in_service_on=date(2019, 5, 1))
    make_wheels(vehicle)
    job = make_job(vehicle, kind="tire_change", opened_at=NOON)
    make_stock(part, job.site, pieces=9)
    return job, part


class TestRenewedOn:
    def test_knows_each_wheel_and_kind_and_when(self, change):
        job, stem = change
        assert renewed_on(job) == {}
        change_tires_same_on_all(job, part=stem, by=None, key="t", at=AFTER)
        wheels = job.vehicle.wheels.all()
        assert renewed_on(job) == {wheel.pk: {"stem": AFTER} for wheel in wheels}


class TestStillFound:
    def seen(self, **fields):
        given = {"tire_off": True, "leak_at": "stem", "stem": "perished", "seen_at": NOON}
        return Inspection(**given | fields)

    def told(self, seen):
        return seen.tire_off, seen.leak_at, seen.stem

    def test_all_of_it_where_nothing_was_renewed(self):
        seen = self.seen()
        assert still_found(seen, {}) is seen
        assert still_found(None, {"stem": AFTER}) is None

    @pytest.mark.parametrize("at", [NOON, None])
    def test_nothing_of_a_piece_that_has_gone_since(self, at):
        left = still_found(self.seen(seen_at=at), {"stem": AFTER})
        assert self.told(left) == (False, "none", "sound")

    def test_what_was_seen_of_the_new_piece_itself(self):
        again = self.seen(seen_at=AFTER + timedelta(minutes=1), stem="damaged")
        assert self.told(still_found(again, {"stem": AFTER})) == (False, "stem", "damaged")

    def test_a_leak_that_the_new_piece_does_not_stop(self):
        left = still_found(self.seen(leak_at="bead"), {"stem": AFTER})
        assert self.told(left) == (False, "bead", "sound")
        left = still_found(self.seen(), {"seal": AFTER})
        assert self.told(left) == (False, "stem", "perished")


def advised_to_do(job, wheel):
    [one] = [one for one in advised(job).wheels if one.case.now.wheel == wheel]
    return one.do


class TestAdviceAfterwards:
    def test_a_stem_that_was_just_fitted_is_not_advised_again(self, change):
        job, stem = change
        wheel = job.vehicle.wheels.first()
        record_inspection(job, wheel=wheel, tire_off=True, stem="perished", at=NOON)
        assert advised_to_do(job, wheel) == "stem"
        change_tires_same_on_all(job, part=stem, by=None, key="t", at=AFTER)
        assert {one.do for one in advised(job).wheels} == {"leave"}

    def test_a_tire_that_is_off_is_not_charged_for_after_the_kit_either(self, bay):
        record_inspection(bay.job, wheel=bay.wheel, tire_off=True, at=NOON)
        for action in ("reseal", "stem"):
            one = advised(bay.job).of(bay.wheel.pk)
            assert one is not None
            do_on_wheel(bay.job, one, action=action, by=None, key=action, reason="as asked")
        assert not bay.job.lines.filter(kind="labour").exists()

    def test_a_kit_stops_the_leak_it_was_fitted_for(self, bay):
        record_inspection(bay.job, wheel=bay.wheel, leak_at="seal", at=NOON)
        assert advised_to_do(bay.job, bay.wheel) == "reseal"
        line = issue_part_for_job(
            bay.job, part=bay.kit, wheel=bay.wheel, by=None, key="k", at=AFTER
        )
        fit_issued_part(line, by=None)
        assert advised_to_do(bay.job, bay.wheel) == "leave"
        record_inspection(bay.job, wheel=bay.wheel, leak_at="seal", at=AFTER + timedelta(minutes=5))
        assert advised_to_do(bay.job, bay.wheel) == "reseal"
