"""What the workshop saves loads into an empty shop as the same records, and twice as nothing."""

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from django.core.serializers import serialize
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.sheet import Saved
from jobs.workshop.actions.findings import (
    WheelHeard,
    give_advice,
    record_inspection,
    record_readings,
)
from jobs.workshop.actions.fitting import fit_issued_part
from jobs.workshop.actions.jobs import (
    close_job,
    plan_part,
    record_approval,
    record_comeback,
    record_declined,
)
from jobs.workshop.actions.keepers import forget_keeper
from jobs.workshop.actions.lines import add_labour, issue_part_for_job
from jobs.workshop.actions.pieces import move_piece
from jobs.workshop.actions.vehicles import set_up_wheels
from jobs.workshop.actions.wheels import rotate_wheels
from jobs.workshop.models import (
    Account,
    AdviceGiven,
    Approval,
    Declined,
    Fitted,
    Inspection,
    Job,
    JobLine,
    Keeper,
    Place,
    PlannedPart,
    Reading,
    Vehicle,
    Wheel,
    WheelId,
    WheelSet,
)
from jobs.workshop.sheets import SHEETS
from shopparts.workbook.load import load
from shopparts.workbook.registry import sheets
from shopparts.workbook.writer import write_workbook
from tests.make import (
    make_account,
    make_application,
    make_job,
    make_keeper,
    make_part,
    make_site,
    make_stock,
    make_user,
    make_vehicle,
)
from tests.shopparts.workbook.book import write_book

pytestmark = pytest.mark.django_db
MODELS: list[type[Any]] = [
    JobLine,
    AdviceGiven,
    Declined,
    Approval,
    Inspection,
    Reading,
    PlannedPart,
    Fitted,
    Place,
    WheelId,
    Wheel,
    WheelSet,
    Job,
    Vehicle,
    Keeper,
    Account,
]
AT = datetime(2026, 2, 4, 3, 0, tzinfo=UTC)


def make_small_workshop():
    """One vehicle with two sets, a moved one-piece sensor, a job and the comeback it led to."""
    site = make_site(code="QUAY", zone="America/Chicago")
    technician = make_user(username="robin")
    account = make_account(name="Tern Parcels", limit_cents=25_000, discount_per_mille=50)
    vehicle = make_vehicle(
        make_application(construction="one_piece", key="MEROW-LISTA"),
        keeper=make_keeper(key="K-1"),
        account=account,
        vin="ZZZAB1C29J1000117",
        built_month=date(2018, 4, 1),
        built_known="label",
    )
    fl, fr, *_ = set_up_wheels(vehicle, on=date(2024, 3, 1), set_name="Summer")
    set_up_wheels(vehicle, on=date(2024, 3, 1), set_name="Winter", stored=True)
    spare = set_up_wheels(vehicle, count=1, on=date(2024, 3, 1), kind="replacement")[0]
    rotate_wheels(vehicle, positions={fl: "front_right", fr: "front_left"}, on=date(2025, 1, 2))
    move_piece(fl.fitted.get(kind="body"), to=spare, on=date(2025, 3, 1))
    job = make_job(
        vehicle, site=site, technician=technician, account=account, opened_at=AT, key="J-1"
    )
    record_readings(job, [WheelHeard(wheel=fr, sensor_id="A1", pressure_kpa=228)], by=technician)
    record_inspection(job, wheel=fr, stem="sound", tire_off=True)
    give_advice(job, wheel=fl, action="assembly", strength="must", because="no sensor", at=AT)
    plan_part(job, part=make_part("body", number="QB-1"), quantity=2)
    record_approval(job, lines="one body", who="Ada Fisher", how="phone", at=AT)
    record_declined(job, wheel=fr, action="stem", why="in spring", who="Ada Fisher", at=AT)
    body = make_part("body", number="QB-2", list_price_cents=4990)
    make_stock(body, site)
    line = issue_part_for_job(job, part=body, wheel=fl, by=technician, key="line-1", at=AT)
    fit_issued_part(line, sensor_id="B2", by=technician, at=AT)
    add_labour(job, minutes=20, words="take one wheel apart")
    close_job(job, reason="towed", at=datetime(2026, 2, 4, 4, 30, tzinfo=UTC))
    again = make_job(vehicle, site=site, opened_at=datetime(2026, 3, 2, tzinfo=UTC), key="J-0")
    record_comeback(again, of=job, cause="our_work", payer="us")
    return vehicle


def everything():
    """All records as keys name them, without the numbers the database gave them."""
    return {
        sheet.title: sorted(
            (tuple(str(value) for value in row.values()) for row in sheet.rows()), key=repr
        )
        for sheet in SHEETS
    }


def empty_workshop():
    Fitted.objects.update(continues=None, joined_with=None)
    Job.objects.update(comeback_of=None)
    for model in MODELS:
        model.objects.all().delete()


@pytest.fixture
def saved(tmp_path):
    make_small_workshop()
    path = tmp_path / "workshop.xlsx"
    write_workbook(path, sheets(), minor_digits=2)
    return path


class TestSheets:
    def test_every_record_of_the_workshop_has_a_row(self, saved):
        told = everything()
        assert {title for title, rows in told.items() if not rows} == set()
        counts = {model: model.objects.count() for model in MODELS}
        assert sum(counts.values()) == sum(len(rows) for rows in told.values())

    def test_what_is_saved_loads_into_an_empty_workshop_as_the_same(self, saved):
        before = everything()
        empty_workshop()
        report = load(saved, sheets(), by=make_user("owner"))
        assert [str(fault) for fault in report.faults] == []
        assert everything() == before

    def test_loading_twice_changes_nothing(self, saved):
        before = [serialize("json", model.objects.order_by("pk")) for model in MODELS]
        report = load(saved, sheets(), by=make_user("owner"))
        assert [str(fault) for fault in report.faults] == []
        assert [serialize("json", model.objects.order_by("pk")) for model in MODELS] == before
        changed = {
            title: done for title, done in report.saved.items() if done.added or done.changed
        }
        assert changed == {}

    def test_a_piece_knows_its_lot_again(self, saved):
        lot = Fitted.objects.exclude(lot=None).get().lot
        empty_workshop()
        load(saved, sheets())
        assert Fitted.objects.exclude(lot=None).get().lot == lot

    def test_a_lot_that_no_posting_opened_is_told_where_it_stands(self, tmp_path):
        wheel = set_up_wheels(make_vehicle(), on=date(2024, 3, 1), kind="own")[0]
        head = ["Key", "Wheel", "Kind", "Since", "How known", "First seen on", "Lot"]
        row = ["F-1", wheel.key, "Stem", "2026-02-03", "Fitted by us", "2026-02-03", "no-such"]
        report = load(write_book(tmp_path / "pieces.xlsx", Fitted=[head, row]), sheets())
        (fault,) = report.faults
        assert (fault.sheet, fault.row, fault.column) == ("Fitted", 2, "Lot")
        assert "o posting opened the lot “no-such”; correct it, or leave it blank" in str(fault)
        assert not Fitted.objects.exists()

    def test_a_blank_day_of_closing_is_the_sites_own(self, tmp_path):
        make_site(code="QUAY", zone="America/Chicago")
        make_vehicle(key="V-1")
        head = ["Job", "Site", "Vehicle", "Kind", "Opened at", "Closed at"]
        line = ["J-1", "QUAY", "V-1", "Other"]
        times = ["2026-02-04T02:00:00+00:00", "2026-02-04T03:00:00+00:00"]
        path = write_book(tmp_path / "jobs.xlsx", Jobs=[head, [*line, *times]])
        report = load(path, sheets())
        assert [str(fault) for fault in report.faults] == []
        assert Job.objects.get().closed_on == date(2026, 2, 3)

    def test_that_day_is_known_where_the_sheet_leaves_the_site_out(self, tmp_path):
        site = make_site(zone="America/Chicago")
        make_job(site=site, key="J-1", opened_at=datetime(2026, 2, 4, 2, tzinfo=UTC))
        rows = [["Job", "Closed at"], ["J-1", "2026-02-04T03:00:00+00:00"]]
        report = load(write_book(tmp_path / "jobs.xlsx", Jobs=rows), sheets())
        assert [str(fault) for fault in report.faults] == []
        assert Job.objects.get().closed_on == date(2026, 2, 3)

    def test_a_comeback_comes_with_the_job_it_comes_back_from(self, tmp_path):
        make_site(code="QUAY")
        make_vehicle(key="V-1")
        head = ["Job", "Site", "Vehicle", "Kind", "Opened at", "Comeback of", "Cause"]
        rows: list[list[Any]] = [
            ["J-2", "QUAY", "V-1", "Other", "2026-02-02T12:00:00+00:00", None, None],
            ["J-1", "QUAY", "V-1", "Other", "2026-03-02T12:00:00+00:00", "J-2", "Our work"],
        ]
        path = write_book(tmp_path / "jobs.xlsx", Jobs=[head, *rows])
        report = load(path, sheets())
        assert [str(fault) for fault in report.faults] == []
        assert Job.objects.get(key="J-1").comeback_of == Job.objects.get(key="J-2")

    def test_a_comeback_without_its_cause_is_told_where_it_stands(self, tmp_path):
        make_site(code="QUAY")
        make_job(make_vehicle(key="V-1"), key="J-2")
        head = ["Job", "Site", "Vehicle", "Kind", "Opened at", "Comeback of"]
        row = ["J-1", "QUAY", "V-1", "Other", "2026-03-02T12:00:00+00:00", "J-2"]
        report = load(write_book(tmp_path / "jobs.xlsx", Jobs=[head, row]), sheets())
        (fault,) = report.faults
        assert (fault.sheet, fault.row) == ("Jobs", 2)
        assert "comeback needs its cause" in str(fault)

    def test_what_a_keeper_had_erased_does_not_come_back(self, saved):
        forget_keeper(Keeper.objects.get(), by=make_user("owner"))
        report = load(saved, sheets())
        assert [str(fault) for fault in report.faults] == []
        keeper = Keeper.objects.get()
        assert (keeper.name, keeper.phone) == ("", "")
        assert keeper.erased_at is not None
        assert {Approval.objects.get().who, Declined.objects.get().who} == {"erased"}
        assert report.saved["Keepers"] == Saved(same=1)

    def test_three_thousand_readings_ask_the_database_some_dozens_of_times(self, tmp_path):
        vehicle = make_vehicle()
        wheel = set_up_wheels(vehicle, on=date(2024, 3, 1))[0]
        make_job(vehicle, key="J-1")
        head = ["Job", "Wheel", "Source", "At", "Heard", "Pressure"]
        first = ["J-1", wheel.key, "Trigger tool"]
        rows = [
            [*first, (AT + timedelta(seconds=n)).isoformat(), "Answered", "33 psi"]
            for n in range(3_000)
        ]
        path = write_book(tmp_path / "readings.xlsx", Readings=[head, *rows])
        with CaptureQueriesContext(connection) as asked:
            report = load(path, sheets())
        assert [str(fault) for fault in report.faults] == []
        assert Reading.objects.count() == 3_000
        assert len(asked) < 60
