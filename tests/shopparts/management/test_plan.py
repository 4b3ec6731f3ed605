import csv
import json
import re
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, date, datetime, timedelta
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.db import connections
from django.utils import timezone
from openpyxl import load_workbook

from inventory.catalog.models import Part
from inventory.ledger.actions import log_ask, receive_stock
from inventory.reorder.models import ExpectedAsk, PlanRun
from inventory.shop.models import Site
from tests.make import (
    make_application,
    make_fitment,
    make_job,
    make_offer,
    make_part,
    make_site,
    make_supplier,
    make_vehicle,
    make_wheels,
)

pytestmark = pytest.mark.django_db


def plan(*options):
    out = StringIO()
    call_command("plan", *options, stdout=out)
    return out.getvalue()


def read(path):
    """The rows of a written file by their heads."""
    if path.suffix == ".json":
        return json.loads(path.read_text())
    if path.suffix == ".csv":
        with path.open(encoding="utf-8-sig", newline="") as file:
            return list(csv.DictReader(file))
    head, *rows = load_workbook(path).worksheets[0].iter_rows(values_only=True)
    return [dict(zip(head, row, strict=True)) for row in rows]


@pytest.fixture
def _shop():
    site = make_site(code="QUAY", asks_logged_from=date(2020, 1, 1))
    supplier = make_supplier(code="BLY", name="Blyth Valve Supply")
    part = make_part(number="QX-4410", list_price_cents=6_000)
    make_offer(supplier, part, pack_price_cents=2_137)
    receive_stock(part, site=site, pieces=1, value_cents=2_137, by=None, key="r-1")
    for days in range(0, 700, 7):
        at = datetime(2026, 3, 4, 12, tzinfo=UTC) - timedelta(days=days)
        log_ask(part, site=site, pieces=1, by=None, key=f"a-{days}", at=at)


class TestPlan:
    @pytest.mark.usefixtures("_shop")
    def test_prints_what_to_order(self):
        first, line = plan("--as-of", "2026-03-04").splitlines()
        assert first == "1 shelf at 1 site looked at, 1 line to order from 1 supplier."
        assert line.startswith("QUAY: ")
        assert "× QX-4410 from Blyth Valve Supply, $" in line
        assert "(1 left, reorder point " in line

    @pytest.mark.usefixtures("_shop")
    def test_prints_the_figures_as_json(self):
        [line] = json.loads(plan("--as-of", "2026-03-04", "--json"))
        assert (line["site"], line["part"], line["supplier"]) == ("QUAY", "QX-4410", "BLY")
        assert line["pieces"] == line["packs"] * line["pack"] > 0
        assert line["job_fill"] >= 0.95
        assert PlanRun.objects.get().as_of == date(2026, 3, 4)

    @pytest.mark.usefixtures("_shop")
    def test_says_in_how_many_jobs_everything_is_there(self):
        part, site = Part.objects.get(), Site.objects.get()
        at = datetime(2026, 3, 3, 12, tzinfo=UTC)
        log_ask(part, site=site, pieces=1, by=None, key="a-job", job_key="J-1", at=at)
        [line] = json.loads(plan("--as-of", "2026-03-04", "--json"))
        # One part a job and one piece an ask: the job is served when the ask is.
        assert line["whole_job_fill"] == pytest.approx(line["job_fill"], abs=1e-6)
        told = plan("--as-of", "2026-03-04").splitlines()[1]
        assert re.fullmatch(
            r"QUAY: The plan fills 9\d(\.\d)?% of asks; "
            r"everything a job needs is there in 9\d(\.\d)?% of jobs\.",
            told,
        )

    @pytest.mark.parametrize(
        ("day", "said"),
        [
            ("2026-13-01", "“2026-13-01” is not a day; write it as 2026-03-09."),
            (
                "2999-01-01",
                "2999-01-01 is still to come; plan as of today, {today}, or a day before.",
            ),
        ],
    )
    def test_refuses_a_day_it_cannot_plan(self, day, said):
        today = make_site().today()
        with pytest.raises(CommandError) as refused:
            plan("--as-of", day)
        assert str(refused.value) == said.format(today=today)
        assert not PlanRun.objects.exists()

    @pytest.mark.usefixtures("_shop")
    def test_a_plan_to_look_back_leaves_the_pages_on_the_latest_day(self):
        plan("--as-of", "2026-03-04")
        plan("--as-of", "2025-03-04")
        assert PlanRun.objects.finished()[0].as_of == date(2026, 3, 4)

    @pytest.mark.usefixtures("_shop")
    @pytest.mark.parametrize("kind", ["json", "csv", "xlsx"])
    def test_writes_the_same_lines_to_a_file(self, kind, tmp_path):
        expected = json.loads(plan("--as-of", "2026-03-04", "--json"))
        path = tmp_path / f"plan.{kind}"
        assert f"Written to plan.{kind}." in plan("--as-of", "2026-03-04", "--out", str(path))
        assert [read(path)[0][name] for name in ("site", "part")] == ["QUAY", "QX-4410"]
        assert [str(row["pieces"]) for row in read(path)] == [
            str(row["pieces"]) for row in expected
        ]
        assert list(read(path)[0]) == list(expected[0])
        assert list(tmp_path.iterdir()) == [path]

    @pytest.mark.usefixtures("_shop")
    def test_a_part_named_like_a_formula_stays_text(self, tmp_path):
        Part.objects.update(number="=1+1")
        path = tmp_path / "plan.csv"
        plan("--as-of", "2026-03-04", "--out", str(path))
        assert read(path)[0]["part"] == "'=1+1"

    def test_refuses_a_file_it_cannot_write(self, tmp_path):
        with pytest.raises(CommandError) as refusal:
            plan("--out", "plan.doc")
        assert str(refusal.value) == "--out plan.doc must end in .json, .csv or .xlsx."

    @pytest.mark.usefixtures("_shop")
    def test_says_when_the_place_is_not_there(self, tmp_path):
        path = tmp_path / "nowhere" / "plan.csv"
        with pytest.raises(CommandError, match="cannot be written"):
            plan("--as-of", "2026-03-04", "--out", str(path))

    def test_without_a_site_says_what_to_do(self):
        with pytest.raises(CommandError) as refused:
            plan()
        assert str(refused.value) == "There is no site to plan for; add one first."


@pytest.mark.django_db(transaction=True)
class TestPlansAtOnce:
    def test_each_waits_for_the_other_and_both_are_done(self):
        """On SQLite writers queue anyway; on PostgreSQL both would write down what is expected."""
        site, application = make_site(), make_application()
        make_fitment(application, make_part("body"))
        vehicle = make_vehicle(application, in_service_on=date(2017, 5, 1))
        make_wheels(vehicle)
        make_job(vehicle, site=site, opened_at=timezone.now() - timedelta(days=30))

        def one(_):
            try:
                return plan()
            finally:
                connections.close_all()

        with ThreadPoolExecutor(4) as pool:
            said = list(pool.map(one, range(4)))
        assert all("looked at" in words for words in said)
        assert PlanRun.objects.finished().count() == 4
        weeks = ExpectedAsk.objects.values_list("week", flat=True)
        assert len(weeks) == len(set(weeks)) > 0
