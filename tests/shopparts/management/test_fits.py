"""`manage.py fits` gives the answer of the fit page."""

import io
import json
from datetime import date

import pytest
from django.core.management import CommandError, call_command

from inventory.catalog.names import names
from jobs.workshop.actions.wheels import set_wheel_id
from jobs.workshop.models import Vehicle
from tests.make import (
    make_application,
    make_fitment,
    make_part,
    make_site,
    make_vehicle,
    make_wheels,
)

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _catalogue():
    names.forget()
    make_site(code="MILL")
    for trim in ("LX", "GT"):
        application = make_application(trim=trim, key=f"lista-{trim}")
        make_fitment(application, make_part(number=f"FOR-{trim}", list_price_cents=4990))
        make_fitment(application, make_part(number=f"NOT-{trim}", band_433=False, band_315=True))
    yield
    names.forget()


def fits(*words, **options):
    out = io.StringIO()
    call_command("fits", *words, stdout=out, **options)
    return out.getvalue()


class TestFits:
    def test_asks_the_question_first(self):
        report = json.loads(fits("14", "merow", "lista", json=True))
        assert report["question"]["choices"] == {"GT": "GT", "LX": "LX"}
        assert report["fits"] == []
        assert "--answer 'trim=GT'   GT" in fits("14", "merow", "lista")

    def test_answered_it_lists_parts_and_reasons(self):
        report = json.loads(fits("14 merow lista", answer=["trim=GT"], json=True))
        (fit,) = report["fits"]
        assert fit["applications"] == ["lista-GT"]
        assert [(part["number"], part["price_cents"]) for part in fit["parts"]] == [
            ("FOR-GT", 4990)
        ]
        assert fit["left_out"] == [
            {
                "number": "NOT-GT",
                "reason": "Sends on 315 MHz; this vehicle listens on 433 MHz.",
            }
        ]

    def test_not_knowing_lists_all(self):
        report = json.loads(fits("14 merow lista", answer=["trim=?"], json=True))
        assert [fit["applications"] for fit in report["fits"]] == [["lista-GT"], ["lista-LX"]]

    def test_the_pressure_set_counts_in_the_shops_unit(self):
        application = make_application(model="Vasto")
        make_fitment(application, make_part(number="SNAP", mounting="snap_in"))
        assert "left out     SNAP" not in fits("merow vasto", pressure_set=65)
        assert "left out     SNAP" in fits("merow vasto", pressure_set=66)

    @pytest.mark.parametrize(
        ("words", "options", "sentence"),
        [
            (
                "zzzzqq",
                {},
                "No vehicle is listed or served here as “zzzzqq”; give its year, make and model, "
                "such as 14 merow van.",
            ),
            ("merow lista", {"answer": ["GT"]}, "“GT” is no answer; write it as QUESTION=CHOICE."),
            ("merow lista", {"site": "X"}, "There is no site “X”; the sites are: MILL."),
        ],
    )
    def test_what_cannot_be_done_is_a_sentence(self, words, options, sentence):
        with pytest.raises(CommandError) as refusal:
            fits(words, **options)
        assert str(refusal.value) == sentence

    def test_a_vehicle_served_here_is_known_by_its_plate_and_its_sensors(self):
        application = make_application(model="Vasto")
        make_fitment(application, make_part(number="SNAP", mounting="snap_in"))
        vehicle = make_vehicle(application, plate="GULL 42", pressure_set_kpa=480)
        set_wheel_id(
            make_wheels(vehicle)[0], sensor_id="A1B2C3D4", origin="new", on=date(2026, 3, 1)
        )
        for words in ("gull42", "A1B2C3D4"):
            report = json.loads(fits(words, json=True))
            assert (report["make"], report["model"], report["question"]) == ("Merow", "Vasto", None)
            assert [part["number"] for part in report["fits"][0]["left_out"]] == ["SNAP"]

    def test_a_vehicle_that_nobody_named_yet_is_to_be_named(self):
        Vehicle.objects.create(key="V-1", plate="GULL 43", plate_key="GULL43")
        with pytest.raises(CommandError) as refusal:
            fits("GULL 43")
        assert str(refusal.value) == (
            "Nobody has said yet which vehicle GULL 43 is; give its year, make and model."
        )

    def test_several_vehicles_are_named(self):
        make_application(model="Listra")
        with pytest.raises(CommandError) as refusal:
            fits("merow li")
        assert str(refusal.value) == (
            "“merow li” may be any of these; say which: Merow Lista, Merow Listra."
        )

    def test_a_draft_is_said_to_be_one(self):
        make_application(model="Tour", key="tour", status="draft")
        (answer,) = json.loads(fits("2014", "merow", "tour", json=True))["fits"]
        assert answer["not_checked"] == ["tour"]
        assert "(a draft that nobody has checked)" in fits("2014", "merow", "tour")
        (answer,) = json.loads(fits("2014", "merow", "lista", "gt", json=True))["fits"]
        assert answer["not_checked"] == []
