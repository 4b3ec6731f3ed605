import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from jobs.models import AdviceGiven, Job
from jobs.workshop.actions.wheels import set_wheel_id
from tests.jobs.review.views.bay_pages import page, read

pytestmark = pytest.mark.django_db


class TestIdsHeard:
    def known(self, bay):
        for wheel, its in zip(bay.wheels, ("A1", "B2", "C3", "D4"), strict=True):
            set_wheel_id(wheel, sensor_id=its, origin="factory", on=bay.site.today())

    def asked(self, client, bay, ids):
        self.known(bay)
        answer = client.get(reverse("jobs:job_detail", args=[bay.job.pk]), {"ids": ids})
        return answer.content.decode()

    def test_three_of_four_ids_name_the_silent_wheel_and_fill_in_the_readings(self, signed_in, bay):
        shown = self.asked(signed_in, bay, "00-A1, c3; D4")
        assert "Front right is the silent one: its id alone was not heard." in shown
        silent = f'name="heard-{bay.wheels[1].pk}" value="silent"'
        assert "checked" in shown.partition(silent)[2].partition(">")[0]
        assert not bay.job.readings.exists()

    def test_an_id_of_no_wheel_is_asked_about(self, signed_in, bay):
        shown = self.asked(signed_in, bay, "A1 C3 D4 EE")
        assert "Front right was not heard, and EE belongs to no wheel" in shown

    def test_several_that_were_not_heard_are_named(self, signed_in, bay):
        assert "Not heard: front right, rear right." in self.asked(signed_in, bay, "A1 C3")

    def test_what_is_no_id_is_said_so(self, signed_in, bay):
        assert "“xyz” is not a sensor id" in self.asked(signed_in, bay, "A1 xyz")


class TestJobRead:
    def test_keeps_the_advice_before_the_outcome_is_known(self, signed_in, bay):
        read(signed_in, bay)
        kept = AdviceGiven.objects.get(wheel=bay.wheel)
        assert kept.action in {"body", "assembly"}
        assert kept.strength == "must"

    def test_tells_a_bad_id_and_writes_nothing(self, signed_in, bay):
        answer = read(signed_in, bay, id="xyz")
        assert "“xyz” is not a sensor id" in answer.content.decode()
        assert not bay.job.readings.exists()

    def test_one_tap_says_that_the_rest_answered(self, signed_in, bay):
        fields = {"source": "tool", "lamp_before": "flashes", "rest_answered": "on"}
        fields |= {f"heard-{wheel.pk}": "not_tried" for wheel in bay.wheels}
        fields[f"heard-{bay.wheel.pk}"] = "silent"
        signed_in.post(reverse("jobs:job_read", args=[bay.job.pk]), fields)
        assert bay.job.readings.filter(heard="answered").count() == 3
        assert bay.job.readings.filter(heard="silent").count() == 1

    def test_changes_nothing_on_a_closed_job(self, signed_in, bay):
        left = {"closed_at": bay.job.opened_at, "closed_on": bay.job.opened_at.date()}
        Job.objects.update(lamp_before="off", **left)
        answer = read(signed_in, bay)
        assert f"Job {bay.job} is closed; open a new one" in answer.content.decode()
        bay.job.refresh_from_db()
        assert bay.job.lamp_before == "off"
        assert not bay.job.readings.exists()

    def test_silent_once_is_tried_again(self, signed_in, bay):
        read(signed_in, bay, tries=1)
        assert "Silent once is not dead" in page(signed_in, bay.job)

    def test_a_healthy_sensor_on_a_low_warm_tire_is_told_apart(self, signed_in, bay):
        bay.application.placard_front_kpa = 234
        bay.application.save()
        read(signed_in, bay, heard="answered", pressure="33.7", temperature="39")
        gauge = {"source": "gauge", "lamp_before": "", f"heard-{bay.wheel.pk}": "answered"}
        gauge |= {f"heard-{wheel.pk}": "not_tried" for wheel in bay.wheels[1:]}
        gauge[f"pressure-{bay.wheel.pk}"] = "33.7"
        signed_in.post(reverse("jobs:job_read", args=[bay.job.pk]), gauge)
        shown = page(signed_in, bay.job)
        assert "the sensor is healthy" in shown
        # 33.7 psi at 102 °F is about 3 psi under 34 psi at 68 °F: ideal gas, computed.
        assert "this tire is about 3" in shown


class TestJobReadFile:
    HEADS = "Position;Result;Pressure (kPa);Temp F;Battery;Sensor ID;Shop\n"
    RIGHT = "LF;ok;241,3;68;low;A1B2;Quay\nrear right;silent;;;;;\n"

    @staticmethod
    def send(client, bay, text, **more):
        file = SimpleUploadedFile("read.csv", text.encode("utf-8-sig"))
        address = reverse("jobs:job_read_file", args=[bay.job.pk])
        return client.post(address, {"file": file} | more)

    def test_takes_every_row_by_its_headings(self, signed_in, bay):
        answer = self.send(signed_in, bay, self.HEADS + self.RIGHT)
        assert answer.url == reverse("jobs:job_detail", args=[bay.job.pk])
        told = bay.job.readings.order_by("wheel")
        # 68 °F are 20 °C by definition.
        assert list(
            told.values_list("wheel", "heard", "pressure_kpa", "temperature_c", "battery")
        ) == [
            (bay.wheels[0].pk, "answered", 241, 20, "weak"),
            (bay.wheels[3].pk, "silent", None, None, "not_told"),
        ]
        assert told[0].sensor_id == "A1B2"

    def test_sent_twice_is_read_once_and_read_anew_by_a_newer_page(self, signed_in, bay):
        for _ in range(2):
            self.send(signed_in, bay, self.HEADS + self.RIGHT, after=0)
        assert bay.job.readings.count() == 2
        newest = max(bay.job.readings.values_list("pk", flat=True))
        assert f'name="after" value="{newest}"' in page(signed_in, bay.job)
        self.send(signed_in, bay, self.HEADS + self.RIGHT, after=newest)
        assert bay.job.readings.count() == 4

    @pytest.mark.parametrize(
        ("row", "fault"),
        [
            ("LF;ok;;;;;", "Row 4: Front left is told twice; keep one row."),
            ("axle 3;ok;;;;;", "Row 4: “axle 3” is no place with a sensor on this vehicle;"),
            ("RF;;;;;;", "Row 4: Say what was heard"),
            ("RF;ok;much;;;;", "Row 4: Pressure: Enter a number."),
            ("RF;ok;;;;XYZ;", "Row 4: Sensor id (hex): "),
            (
                "RF;perhaps;;;;;",
                "Row 4: “perhaps” is nothing that is heard; write one of “answered”, ",
            ),
        ],
    )
    def test_writes_nothing_when_one_row_is_wrong(self, signed_in, bay, row, fault):
        answer = self.send(signed_in, bay, self.HEADS + self.RIGHT + row)
        assert fault in answer.content.decode()
        assert "open><summary>From a file" in answer.content.decode()
        assert not bay.job.readings.exists()

    @pytest.mark.parametrize(
        ("text", "fault"),
        [
            ("Pressure,Id\n35,A1", "No column is headed “Position”"),
            ("Position,Wheel\nLF,RF", "Two columns tell the position; keep one of them."),
            ("Position,Pressure\nLF,35", "Row 2: The pressure has no unit;"),
            ("Position,Heard\n", "The file has no rows below its headings"),
            ("x" * 50_001, "At most 50 kB are read"),
        ],
    )
    def test_says_what_is_wrong_with_the_file(self, signed_in, bay, text, fault):
        assert fault in self.send(signed_in, bay, text).content.decode()

    def test_takes_the_unit_of_each_row(self, signed_in, bay):
        self.send(signed_in, bay, "Wheel,Pressure,Unit\nLF,35,psi\nRF,2.4,bar")
        # 35 psi are 241.3 kPa (NIST SP 811, Appendix B.8).
        told = bay.job.readings.order_by("wheel").values_list("pressure_kpa", flat=True)
        assert list(told) == [241, 240]
