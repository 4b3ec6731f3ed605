from datetime import UTC, date, datetime

import pytest
from django.core.exceptions import ValidationError

from inventory.catalog.models import MadeOf
from inventory.ledger.models import Lot, Shelf
from inventory.reorder.models import Claim
from jobs.workshop.actions.claims import warranty_of
from jobs.workshop.actions.fitting import fit_issued_part, take_back_line
from jobs.workshop.actions.lines import issue_part_for_job
from jobs.workshop.actions.tire_change import change_tires_same_on_all
from jobs.workshop.models import EndReason
from tests.make import (
    make_application,
    make_job,
    make_offer,
    make_part,
    make_stock,
    make_supplier,
    make_user,
    make_vehicle,
    make_wheels,
)

pytestmark = pytest.mark.django_db
FITTED = datetime(2025, 2, 3, 15, 0, tzinfo=UTC)
FAILED = datetime(2026, 2, 3, 15, 0, tzinfo=UTC)


@pytest.fixture
def wheel():
    return make_wheels(make_vehicle())[0]


@pytest.fixture
def part():
    return make_part("body", number="QB-1", list_price_cents=4990)


def _fit(wheel, part, *, at=FITTED, key="k1", **fields):
    job = make_job(wheel.vehicle, key=f"J-{key}", opened_at=at, odometer_km=84_000)
    make_stock(part, job.site, pieces=1, value_cents=1713)
    line = issue_part_for_job(job, part=part, wheel=wheel, by=make_user(), key=key, at=at)
    fit_issued_part(line, by=make_user(), at=at, **fields)
    return job


class TestFitIssuedPart:
    def test_the_new_life_knows_its_part_lot_and_job(self, wheel, part):
        job = _fit(wheel, part, printed_code="QB1-25", sensor_id="a1")
        body = wheel.fitted.get(kind="body", ended_on=None)
        assert (body.part, body.by_job, body.printed_code) == (part, job, "QB1-25")
        assert body.lot == Lot.objects.get()
        assert wheel.ids.get().sensor_id == "A1"

    def test_refuses_a_line_without_a_wheel(self, wheel, part):
        job = make_job(wheel.vehicle)
        make_stock(part, job.site, pieces=1, value_cents=1713)
        line = issue_part_for_job(job, part=part, by=make_user(), key="k9")
        with pytest.raises(ValidationError) as refusal:
            fit_issued_part(line, by=make_user())
        assert refusal.value.messages == ["Choose the wheel and a line that sells a part."]


class TestClaims:
    def _fail(self, wheel, part, **fields):
        reasons = {"body": EndReason.SILENT} | fields.pop("reasons", {})
        return _fit(wheel, part, at=FAILED, key="k2", reasons=reasons)

    def test_a_failed_part_under_warranty_is_kept_at_no_value_and_claimed(self, wheel, part):
        make_offer(make_supplier(), part, valid_from=date(2024, 1, 1), warranty_months=24)
        _fit(wheel, part, printed_code="QB1-25")
        job = self._fail(wheel, part)
        claim = Claim.objects.get()
        assert (claim.part, claim.job_key, claim.fitted_by_job_key) == (part, "J-k2", "J-k1")
        assert (claim.fitted_on, claim.failed_on) == (date(2025, 2, 3), date(2026, 2, 3))
        assert (claim.claim_by, claim.odometer_km) == (date(2027, 2, 3), 84_000)
        kept = Lot.objects.get(condition="claim")
        assert (kept.pieces_left, kept.cents_left, kept.shelf.site) == (1, 0, job.site)

    def test_a_part_out_of_warranty_is_not(self, wheel, part):
        make_offer(make_supplier(), part, valid_from=date(2024, 1, 1), warranty_months=6)
        _fit(wheel, part)
        self._fail(wheel, part)
        assert not Claim.objects.exists()
        assert not Lot.objects.filter(condition="claim").exists()

    def test_a_part_damaged_on_the_road_is_not(self, wheel, part):
        make_offer(make_supplier(), part, valid_from=date(2024, 1, 1), warranty_months=24)
        _fit(wheel, part)
        self._fail(wheel, part, reasons={"body": EndReason.DAMAGED})
        assert not Claim.objects.exists()

    def test_a_factory_part_is_nobodys_claim(self, wheel, part):
        make_offer(make_supplier(), part, valid_from=date(2024, 1, 1), warranty_months=24)
        self._fail(wheel, part)
        assert not Claim.objects.exists()

    def test_of_an_assembly_the_failed_body_is_claimed_where_it_is_sold_apart(self, wheel, part):
        whole = make_part("assembly", mounting="clamp_in", list_price_cents=7990)
        MadeOf.objects.create(whole=whole, piece=part)
        make_offer(make_supplier(), whole, valid_from=date(2024, 1, 1), warranty_months=24)
        _fit(wheel, whole)
        self._fail(wheel, part)
        assert Claim.objects.get().part == part


class TestWarrantyOf:
    def test_is_the_longest_where_nobody_knows_who_brought_it(self, wheel, part):
        for months in (12, 24):
            make_offer(make_supplier(), part, valid_from=date(2024, 1, 1), warranty_months=months)
        _fit(wheel, part)
        body = wheel.fitted.get(kind="body", ended_on=None)
        warranty = warranty_of(body)
        assert warranty is not None
        assert warranty.until == date(2027, 2, 3)


class TestTakeBackLine:
    def tire_change(self, vehicle, part):
        job = make_job(vehicle, kind="tire_change", opened_at=FAILED)
        make_stock(part, job.site, pieces=5, value_cents=500)
        by, at = make_user(), FAILED
        return change_tires_same_on_all(job, part=part, by=by, key="t", at=at)

    def test_kits_put_on_by_mistake_were_never_fitted(self, wheel):
        vehicle, kit = wheel.vehicle, make_part("kit", list_price_cents=690)
        before = set(wheel.fitted.values_list("pk", "kind", "since"))
        line = self.tire_change(vehicle, kit)
        assert wheel.fitted.get(kind="seal", ended_on=None).part == kit
        left = take_back_line(line, by=make_user(), key="back")
        assert (left.quantity, left.price_cents) == (0, 0)
        assert Shelf.objects.get(part=kit).on_hand == 5
        assert set(wheel.fitted.now().values_list("pk", "kind", "since")) == before
        assert not line.job.fitted.exists()

    def test_twice_is_once(self, wheel):
        line = self.tire_change(wheel.vehicle, make_part("kit", list_price_cents=690))
        take_back_line(line, by=make_user(), key="back")
        assert take_back_line(line, by=make_user(), key="back").quantity == 0
        assert Shelf.objects.get(part=line.part).on_hand == 5

    def test_a_one_piece_sensor_stands_again_with_its_stem(self):
        application = make_application(mounting="snap_in", construction="one_piece")
        wheel = make_wheels(make_vehicle(application))[0]
        stem = make_part("stem", mounting="snap_in", list_price_cents=690)
        line = self.tire_change(wheel.vehicle, stem)
        assert not wheel.fitted.now().filter(kind="body").exists()
        take_back_line(line, by=make_user(), key="back")
        assert {piece.kind for piece in wheel.fitted.now()} == {"body", "stem"}

    def test_a_sensor_stays_with_its_wheel(self, wheel, part):
        job = _fit(wheel, part)
        with pytest.raises(ValidationError) as refusal:
            take_back_line(job.lines.get(), by=make_user(), key="back")
        assert refusal.value.messages == [
            f"QB-1 stands on wheel {wheel} now; fit what belongs there instead."
        ]
        assert wheel.fitted.get(kind="body", ended_on=None).part == part
