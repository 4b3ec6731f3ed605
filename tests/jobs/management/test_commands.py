import json

import pytest
from django.core.management import CommandError, call_command

from jobs.models import Job
from jobs.workshop.actions.findings import WheelHeard, record_readings
from jobs.workshop.actions.lines import issue_part_for_job

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
        assert "cost" not in json.dumps(answer).replace("price_now_cents", "")

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

    def test_prints_a_table(self, bay, capsys):
        call_command("margin")
        assert "Work done" in capsys.readouterr().out

    def test_names_a_day_that_is_none(self, db):
        with pytest.raises(CommandError, match="“tomorrow” is not a day"):
            call_command("margin", "--last", "tomorrow")
