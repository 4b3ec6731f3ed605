import pytest
from django.urls import reverse

from inventory.models import Ask, Shelf
from jobs.models import AdviceGiven, Declined, Fitted, Job
from jobs.review.inputs.margins import earned
from jobs.workshop.actions.findings import record_inspection
from jobs.workshop.actions.jobs import open_job
from jobs.workshop.actions.lines import issue_part_for_job
from jobs.workshop.actions.pieces import end_piece
from tests.jobs.review.views.bay_pages import do, page, read
from tests.make import make_stock, make_vehicle

pytestmark = pytest.mark.django_db


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
                make_vehicle(bay.application),
                site=bay.site,
                kind="other",
                technician=bay.technician,
            )
            issue_part_for_job(other, part=bay.body, by=None, key=key)
        answer = do(signed_in, bay, "body", reason="stem is new")
        assert "receive stock first" in answer.content.decode()
        assert not bay.job.lines.exists()


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
