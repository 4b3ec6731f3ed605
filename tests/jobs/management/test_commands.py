import json
from datetime import datetime
from zoneinfo import ZoneInfo

import pytest
from django.core.management import CommandError, call_command

from inventory.models import ShopSettings, Site
from jobs.models import Job
from jobs.workshop.actions.findings import WheelHeard, record_readings
from jobs.workshop.actions.lines import issue_part_for_job
from shopparts.runs.models import KEPT_FOR
from tests.make import make_keeper, make_vehicle

pytestmark = pytest.mark.django_db


class TestAdvise:
    def test_says_what_to_do_with_its_cautions(self, bay, capsys):
        heard = [WheelHeard(wheel=bay.wheel, heard="silent", tries=2)]
        record_readings(bay.job, heard, by=None)
        call_command("advise", bay.job.key, "--json")
        answer = json.loads(capsys.readouterr().out)
        first = answer["wheels"][0]
        assert first["action"] in {"body", "assembly"}
        assert "Read the new sensor before it is mounted." in first["cautions"]
        said = json.dumps(answer).replace("A visit for one sensor would then cost", "")
        assert "cost" not in said

    def test_says_what_of_the_other_wheels_and_what_the_customer_may_choose(self, bay, capsys):
        heard = [WheelHeard(wheel=wheel, heard="answered") for wheel in bay.wheels]
        heard[0] = WheelHeard(wheel=bay.wheel, heard="silent", tries=2)
        record_readings(bay.job, heard, by=None)
        call_command("advise", bay.job.key, "--json")
        answer = json.loads(capsys.readouterr().out)
        others = [wheel.key for wheel in bay.wheels[1:]]
        assert sorted(key for one in answer["siblings"] for key in one["wheels"]) == others
        assert all(one["words"] and one["because"] for one in answer["siblings"])
        prices = [option["price_cents"] for option in answer["options"]]
        assert len(prices) >= 2
        assert prices == sorted(prices)
        assert {wheel["place"] for wheel in answer["options"][0]["wheels"]} == {
            wheel["place"] for wheel in answer["wheels"]
        }

    def test_reads_as_a_page_does(self, bay, capsys):
        call_command("advise", bay.job.key)
        assert "Front left: Trigger the sensor" in capsys.readouterr().out

    def test_names_a_job_that_is_not_there(self, db):
        with pytest.raises(CommandError) as refusal:
            call_command("advise", "J-0")
        assert str(refusal.value) == "There is no job “J-0”; look at the list of jobs."


class TestMargin:
    def test_adds_up(self, bay, capsys):
        issue_part_for_job(bay.job, part=bay.kit, by=None, key="k")
        today = bay.site.today()
        Job.objects.filter(pk=bay.job.pk).update(closed_at=bay.job.opened_at, closed_on=today)
        call_command("margin", "--last", today.isoformat(), "--json", "--jobs")
        answer = json.loads(capsys.readouterr().out)
        assert answer["margin_cents"] == 400 - 1937
        assert sum(answer["moved"].values()) == answer["margin_cents"]
        assert [each["job"] for each in answer["each"]] == [bay.job.key]
        assert answer["service_data"] == {"cents": 0, "jobs": 0, "a_job_cents": None}

    def test_takes_off_the_service_data_of_the_days(self, bay, capsys):
        ShopSettings(pk=1, service_data_yearly_cents=36500).save()
        call_command("margin", "--first", "2026-03-01", "--last", "2026-03-10", "--json")
        answer = json.loads(capsys.readouterr().out)
        assert answer["service_data"] == {"cents": 1000, "jobs": 0, "a_job_cents": None}
        assert answer["margin_cents"] == answer["before_margin_cents"] == -1000

    # Of two zones 26 hours apart, one is at any time on another day than the server.
    @pytest.mark.parametrize("zone", ["Pacific/Kiritimati", "Etc/GMT+12"])
    @pytest.mark.parametrize("named", [True, False])
    def test_ends_today_by_the_clock_of_the_site(self, bay, capsys, zone, named):
        Site.objects.filter(pk=bay.site.pk).update(zone=zone)
        today = datetime.now(tz=ZoneInfo(zone)).date()
        call_command("margin", "--json", *(["--site", bay.site.code] if named else []))
        assert json.loads(capsys.readouterr().out)["last"] == today.isoformat()

    def test_prints_a_table(self, bay, capsys):
        call_command("margin")
        assert "Work done" in capsys.readouterr().out

    def test_names_a_day_that_is_none(self, db):
        with pytest.raises(CommandError, match="“tomorrow” is not a day"):
            call_command("margin", "--last", "tomorrow")


class TestForgetKeeper:
    @pytest.fixture
    def keeper(self):
        keeper = make_keeper(key="K-17")
        make_vehicle(plate="QX 417", keeper=keeper)
        return keeper

    def test_erases_by_key_and_says_what_else_to_delete(self, keeper, capsys):
        call_command("forget_keeper", "k-17", "--yes")
        keeper.refresh_from_db()
        assert (keeper.name, keeper.phone) == ("", "")
        assert capsys.readouterr().out == (
            "Name and phone of keeper K-17 are erased. Uploads and results of runs may hold them "
            f"for {KEPT_FOR.days} days, backups made before today until they rotate, and saved "
            "workbooks as long as they are kept: delete those too.\n"
        )

    def test_finds_the_keeper_by_a_plate_and_asks_first(self, keeper, monkeypatch):
        asked = []

        def say_yes(words):
            asked.append(words)
            return "yes"

        monkeypatch.setattr("builtins.input", say_yes)
        call_command("forget_keeper", "qx-417")
        keeper.refresh_from_db()
        assert asked == ["Erase the name and phone of keeper K-17 (QX 417)? [yes/no] "]
        assert keeper.erased_at is not None

    def test_anything_but_yes_erases_nothing(self, keeper, monkeypatch):
        monkeypatch.setattr("builtins.input", lambda words: "y")
        with pytest.raises(CommandError) as refusal:
            call_command("forget_keeper", "K-17")
        keeper.refresh_from_db()
        assert str(refusal.value) == "Nothing was erased; keeper K-17 stays as it is."
        assert keeper.name == "Ada Fisher"

    def test_a_second_time_says_when_it_was_done(self, keeper, capsys):
        call_command("forget_keeper", "K-17", "--yes")
        capsys.readouterr()
        call_command("forget_keeper", "K-17", "--yes")
        assert capsys.readouterr().out.startswith("Keeper K-17 was forgotten on 20")

    def test_names_nobody(self, db):
        make_vehicle(plate="", unit_number="7", keeper=make_keeper())
        for who in ("K-0", "-"):
            with pytest.raises(CommandError) as refusal:
                call_command("forget_keeper", who, "--yes")
            assert str(refusal.value) == (
                f"No keeper has the key “{who}”, nor a vehicle of that VIN or plate; "
                "look the vehicle up and try its plate."
            )
