import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from inventory.models import Ask, Shelf
from jobs.models import AdviceGiven, Declined, Fitted, Job
from jobs.review.inputs.margins import earned
from jobs.workshop.actions.findings import record_inspection
from jobs.workshop.actions.jobs import open_job
from jobs.workshop.actions.pieces import end_piece
from jobs.workshop.actions.wheels import set_wheel_id
from tests.make import make_stock

pytestmark = pytest.mark.django_db


@pytest.fixture
def signed_in(client, bay):
    client.force_login(bay.technician)
    return client


def page(client, job):
    answer = client.get(reverse("jobs:job_detail", args=[job.pk]))
    assert answer.status_code == 200
    return answer.content.decode()


def read(client, bay, heard="silent", tries=2, **more):
    fields = {"source": "tool", "lamp_before": "flashes"}
    for wheel in bay.wheels:
        fields[f"heard-{wheel.pk}"] = "answered"
        fields[f"stored-{wheel.pk}"] = "yes"
    fields |= {f"heard-{bay.wheel.pk}": heard, f"tries-{bay.wheel.pk}": tries}
    fields |= {f"{name}-{bay.wheel.pk}": value for name, value in more.items()}
    return client.post(reverse("jobs:job_read", args=[bay.job.pk]), fields)


def do(client, bay, action, **fields):
    address = reverse("jobs:job_do", args=[bay.job.pk, bay.wheel.pk])
    return client.post(address, {"key": "once", "action": action, "id_origin": "new"} | fields)


class TestJobList:
    def test_shows_what_is_here(self, signed_in, bay):
        answer = signed_in.get(reverse("jobs:job_list"))
        assert "1 job here now" in answer.content.decode()

    def test_asks_the_database_the_same_however_many_jobs_there_are(
        self, signed_in, bay, django_assert_max_num_queries
    ):
        with django_assert_max_num_queries(9):
            signed_in.get(reverse("jobs:job_list"), {"show": "closed"})


class TestJobDetail:
    def test_asks_for_a_reading_first(self, signed_in, bay):
        assert "Trigger the sensor" in page(signed_in, bay.job)

    def test_puts_the_readings_aside_once_no_wheel_has_to_be_tried(self, signed_in, bay):
        assert "<details open" in page(signed_in, bay.job)
        read(signed_in, bay, tries=1)
        assert "<details open" in page(signed_in, bay.job)
        read(signed_in, bay, tries=2)
        assert "<details open" not in page(signed_in, bay.job)

    def test_advises_on_every_wheel_with_its_caution(self, signed_in, bay):
        read(signed_in, bay)
        shown = page(signed_in, bay.job)
        assert "Replace the" in shown
        assert "Read the new sensor before it is mounted." in shown

    def test_shows_no_cost_to_a_technician(self, signed_in, bay):
        read(signed_in, bay)
        shown = page(signed_in, bay.job)
        assert "19.37" not in shown
        assert "1937" not in shown

    def test_keeps_its_number_of_queries_when_wheels_are_read(
        self, signed_in, bay, django_assert_max_num_queries
    ):
        read(signed_in, bay)
        with django_assert_max_num_queries(60):
            page(signed_in, bay.job)


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


class TestJobInspect:
    def test_a_leaking_stem_changes_the_advice(self, signed_in, bay):
        read(signed_in, bay, heard="answered", tries=1)
        address = reverse("jobs:job_inspect", args=[bay.job.pk, bay.wheel.pk])
        signed_in.post(address, {"leak_at": "stem", "stem": "corroded", "tire_off": "on"})
        assert AdviceGiven.objects.filter(wheel=bay.wheel).latest("pk").action in {
            "stem",
            "assembly",
        }


class TestJobDo:
    def test_issues_and_fits_what_the_action_needs_once(self, signed_in, bay):
        read(signed_in, bay)
        first = do(signed_in, bay, "body", sensor_id="00a1b2c3", reason="stem is new")
        assert first.status_code == 302
        do(signed_in, bay, "body", sensor_id="00a1b2c3", reason="stem is new")
        assert Shelf.objects.get(part=bay.body).on_hand == 3
        assert Shelf.objects.get(part=bay.kit).on_hand == 3
        assert Ask.objects.filter(part=bay.body).count() == 1
        assert Fitted.objects.now().get(wheel=bay.wheel, kind="body").part == bay.body
        assert Fitted.objects.filter(wheel=bay.wheel, kind="body", end_reason="silent").exists()

    def test_asks_to_read_the_new_sensor_and_forgets_what_the_old_one_said(self, signed_in, bay):
        read(signed_in, bay)
        do(signed_in, bay, "body", sensor_id="00a1b2c3", reason="stem is new")
        shown = page(signed_in, bay.job)
        assert "Trigger the new sensor" in shown
        assert "The body is dead" not in shown
        assert "The other wheels while we are here" in shown
        read(signed_in, bay, heard="answered", id="00a1b2c3")
        assert "Trigger the new sensor" not in page(signed_in, bay.job)

    def test_a_core_from_the_jar_stands_on_the_job_once_and_costs_nothing(self, signed_in, bay):
        read(signed_in, bay, heard="answered", tries=1)
        record_inspection(bay.job, wheel=bay.wheel, leak_at="core")
        for _ in range(2):
            do(signed_in, bay, "core")
        line = bay.job.lines.get()
        assert (line.action, line.wheel, line.price_cents) == ("core", bay.wheel, 0)
        assert "Valve core replaced" in page(signed_in, bay.job)
        [one] = earned(Job.objects.filter(pk=bay.job.pk))
        assert one.work == "Valve core"

    def test_another_action_than_advised_needs_a_reason(self, signed_in, bay):
        read(signed_in, bay)
        advised = AdviceGiven.objects.get(wheel=bay.wheel).action
        other = {"body": "assembly", "assembly": "body"}[advised]
        answer = do(signed_in, bay, other)
        assert "say in a few words why" in answer.content.decode()
        assert Shelf.objects.get(part=bay.body).on_hand == 4

    def test_a_masked_action_is_refused_with_its_reason(self, signed_in, bay):
        read(signed_in, bay)
        answer = do(signed_in, bay, "reseal", reason="cheaper")
        assert answer.status_code == 200
        assert not bay.job.lines.exists()

    def test_says_what_to_do_when_the_shelf_is_empty(self, signed_in, bay):
        read(signed_in, bay)
        for key in ("a", "b", "c", "d"):
            other = open_job(
                make_other_vehicle(bay), site=bay.site, kind="other", technician=bay.technician
            )
            issue(other, bay.body, key)
        answer = do(signed_in, bay, "body", reason="stem is new")
        assert "receive stock first" in answer.content.decode()
        assert not bay.job.lines.exists()


def make_other_vehicle(bay):
    from tests.make import make_vehicle

    return make_vehicle(bay.application)


def issue(job, part, key):
    from jobs.workshop.actions.lines import issue_part_for_job

    issue_part_for_job(job, part=part, by=None, key=key)


class TestJobChangeTires:
    def test_same_on_all_four_in_one_go(self, signed_in, bay):
        Job.objects.filter(pk=bay.job.pk).update(kind="tire_change")
        address = reverse("jobs:job_change_tires", args=[bay.job.pk])
        answer = signed_in.post(address, {"key": "t1", "part": bay.kit.pk, "lamp_after": "off"})
        assert answer.status_code == 302
        assert Shelf.objects.get(part=bay.kit).on_hand == 0
        assert bay.job.readings.filter(heard="answered").count() == 4


class TestJobDecline:
    def test_shows_up_at_the_next_visit(self, signed_in, bay):
        read(signed_in, bay)
        address = reverse("jobs:job_decline", args=[bay.job.pk])
        signed_in.post(address, {"action": "body", "why": "next month", "for_price": "on"})
        assert Declined.objects.get().for_price
        Job.objects.filter(pk=bay.job.pk).update(
            closed_at=bay.job.opened_at, closed_on=bay.site.today()
        )
        again = open_job(bay.vehicle, site=bay.site, kind="sensor", technician=bay.technician)
        assert "Declined at an earlier visit" in page(signed_in, again)


class TestJobApprove:
    def test_keeps_who_agreed_and_how(self, signed_in, bay):
        address = reverse("jobs:job_approve", args=[bay.job.pk])
        signed_in.post(address, {"lines": "body front left", "who": "Mr Reed", "how": "phone"})
        assert "Agreed: body front left, by Mr Reed, phone." in page(signed_in, bay.job)

    def test_asks_for_a_decision_only_while_one_is_open(self, signed_in, bay):
        asked = "They let it leave with a sensor missing or not working"
        said = {"lines": "drives on", "who": "Mr Reed", "wheel": bay.wheel.pk}
        address = reverse("jobs:job_approve", args=[bay.job.pk])
        assert asked not in page(signed_in, bay.job)
        signed_in.post(address, said)
        assert not bay.job.approvals.get().decides_safety
        body = bay.wheel.fitted.get(kind="body")
        end_piece(body, reason="broken_by_us", on=bay.site.today(), job=bay.job)
        assert asked in page(signed_in, bay.job)
        sound = signed_in.post(address, said | {"wheel": bay.wheels[1].pk})
        assert "Select a valid choice" in sound.content.decode()
        signed_in.post(address, said)
        shown = page(signed_in, bay.job)
        assert "by Mr Reed, who lets it leave with a sensor missing or not working." in shown
        assert asked not in shown
        assert asked not in shown


class TestJobClose:
    ALL = {
        "lamp_before": "flashes",
        "lamp_after": "off",
        "pressures_set_cold": "on",
        "wheel_nuts_tightened": "on",
        "road_checked": "on",
    }

    def test_names_what_is_missing(self, signed_in, bay):
        read(signed_in, bay, heard="answered")
        answer = signed_in.post(reverse("jobs:job_close", args=[bay.job.pk]), {})
        assert "Restart and say how the lamp is after the work." in answer.content.decode()
        assert Job.objects.get(pk=bay.job.pk).is_open

    def test_closes_when_all_is_done(self, signed_in, bay):
        read(signed_in, bay, heard="answered")
        signed_in.post(reverse("jobs:job_close", args=[bay.job.pk]), self.ALL)
        assert not Job.objects.get(pk=bay.job.pk).is_open

    def test_sent_twice_it_says_that_it_is_closed(self, signed_in, bay):
        read(signed_in, bay, heard="answered")
        address = reverse("jobs:job_close", args=[bay.job.pk])
        signed_in.post(address, self.ALL)
        closed_at = Job.objects.get(pk=bay.job.pk).closed_at
        shown = signed_in.post(address, self.ALL, follow=True).content.decode()
        assert f"Job {bay.job} is closed already; see below how." in shown
        assert Job.objects.get(pk=bay.job.pk).closed_at == closed_at


class TestJobTakeBack:
    def test_puts_an_unused_part_back_on_the_shelf(self, signed_in, bay):
        from jobs.workshop.actions.lines import issue_part_for_job

        line = issue_part_for_job(bay.job, part=bay.kit, by=None, key="unused")
        address = reverse("jobs:job_take_back", args=[bay.job.pk, line.pk])
        signed_in.post(address, {"key": "back"})
        assert Shelf.objects.get(part=bay.kit).on_hand == 4


class TestJobCard:
    def test_carries_advice_and_cautions(self, signed_in, bay):
        read(signed_in, bay)
        card = signed_in.get(reverse("jobs:job_card", args=[bay.job.pk])).content.decode()
        assert "Read the new sensor before it is mounted." in card
        assert "vehicle maker's procedure" in card.replace("&#x27;", "'")


class TestShelfOfAnotherSite:
    def test_is_not_issued_from(self, signed_in, bay):
        from tests.make import make_site

        make_stock(bay.body, make_site(), pieces=9)
        read(signed_in, bay)
        do(signed_in, bay, "body", reason="stem is new")
        assert Shelf.objects.get(part=bay.body, site=bay.site).on_hand == 3
