"""What befalls one wheel of a job: ids, codes, programmed sensors, broken ones, plain valves."""

import pytest
from django.urls import reverse

from inventory.shop.models import ShopSettings
from jobs.models import Fitted, Job, JobLine
from jobs.review.inputs.margins import earned
from tests.jobs.review.views.bay_pages import do, page, read
from tests.make import make_part, make_stock

pytestmark = pytest.mark.django_db


def post(client, bay, name, **fields):
    answer = client.post(reverse(f"jobs:{name}", args=[bay.job.pk, bay.wheel.pk]), fields)
    return answer.content.decode()


def body_now(bay):
    return Fitted.objects.now().filter(wheel=bay.wheel, kind="body").first()


class TestJobExplainId:
    def known_then_another(self, client, bay):
        read(client, bay, heard="answered", id="A1")
        read(client, bay, heard="answered", id="B2")

    def test_asks_whose_it_is_and_begins_a_new_life_for_another_shops_sensor(self, signed_in, bay):
        self.known_then_another(signed_in, bay)
        assert "Whose id is it" in page(signed_in, bay.job)
        before = body_now(bay)
        post(signed_in, bay, "job_explain_id", whose="other_shop")
        assert bay.wheel.ids.get(until=None).sensor_id == "B2"
        assert body_now(bay) != before
        assert "Whose id is it" not in page(signed_in, bay.job)

    def test_sent_twice_begins_one_life(self, signed_in, bay):
        self.known_then_another(signed_in, bay)
        for _ in range(2):
            post(signed_in, bay, "job_explain_id", whose="ours")
        assert bay.wheel.fitted.filter(kind="body").count() == 2

    def test_an_id_written_down_wrong_is_the_same_sensor(self, signed_in, bay):
        self.known_then_another(signed_in, bay)
        before = body_now(bay)
        post(signed_in, bay, "job_explain_id", whose="same_sensor")
        assert body_now(bay) == before
        assert bay.wheel.ids.get(until=None).sensor_id == "B2"


class TestJobConfirmCode:
    def test_keeps_the_code_and_refuses_another(self, signed_in, bay):
        post(signed_in, bay, "job_confirm_code", code="LOT-7")
        assert body_now(bay).printed_code == "LOT-7"
        assert "is known by LOT-7, not LOT-8" in post(
            signed_in, bay, "job_confirm_code", code="LOT-8"
        )


class TestProgrammedSensor:
    @pytest.fixture(autouse=True)
    def programmed(self, bay):
        for part in (bay.body, bay.assembly):
            part.preparation, part.preparation_minutes = "program", 6
            part.save()

    def test_is_read_before_it_is_mounted(self, signed_in, bay):
        read(signed_in, bay)
        answer = do(signed_in, bay, "body", reason="stem is new").content.decode()
        assert "Read the programmed sensor before it is mounted" in answer
        assert not bay.job.lines.exists()

    def test_a_copy_answers_with_the_old_id_and_needs_no_relearn(self, signed_in, bay):
        read(signed_in, bay, heard="answered", id="A1")
        read(signed_in, bay)
        told = {"id_origin": "copied", "reason": "stem is new"}
        answer = do(signed_in, bay, "body", sensor_id="B2", **told).content.decode()
        assert "answers with B2 and the old one had A1, so it is no copy" in answer
        do(signed_in, bay, "body", sensor_id="A1", **told)
        assert not bay.job.lines.filter(action="relearn").exists()
        assert bay.wheel.ids.get(until=None).origin == "copied"

    def test_takes_the_minutes_it_really_took(self, signed_in, bay):
        read(signed_in, bay)
        assert "Minutes to program it" in page(signed_in, bay.job)
        do(signed_in, bay, "body", sensor_id="B2", reason="stem is new", prepare_minutes=9)
        assert bay.job.lines.get(words="Sensor programmed").quantity == 9

    def test_the_minutes_it_took_cost_the_job_what_an_hour_costs_the_shop(self, signed_in, bay):
        read(signed_in, bay)
        ShopSettings.objects.update_or_create(pk=1, defaults={"labour_cost_cents": 4000})
        do(signed_in, bay, "body", sensor_id="B2", reason="stem is new", prepare_minutes=9)
        (one,) = earned(Job.objects.filter(pk=bay.job.pk))
        cost = {line.line.words: line.margin.labour_cents for line in one.lines}
        assert cost["Sensor programmed"] == 600
        assert one.own.labour_cents == sum(cost.values())


class TestJobBreakSensor:
    def test_is_replaced_at_our_cost_and_not_released_in_silence(self, signed_in, bay):
        ShopSettings.objects.update_or_create(pk=1, defaults={"labour_price_cents": 9000})
        read(signed_in, bay, heard="answered")
        for _ in range(2):
            post(signed_in, bay, "job_break_sensor", sure="on")
        shown = page(signed_in, bay.job)
        assert "It broke in our hands: it must work again" in shown
        assert "may be replaced by a plain valve" not in shown
        assert bay.wheel.fitted.filter(end_reason="broken_by_us").count() == 1
        address = reverse("jobs:job_close", args=[bay.job.pk])
        closing = signed_in.post(address, {"reason": "part on order"}).content.decode()
        assert "Front left: a sensor broke in our hands and none works in its place" in closing
        assert Job.objects.get(pk=bay.job.pk).is_open
        do(signed_in, bay, "body", reason="it broke")
        assert set(JobLine.objects.filter(wheel=bay.wheel).values_list("payer", flat=True)) == {
            "us"
        }

    def test_has_to_be_said_twice(self, signed_in, bay):
        read(signed_in, bay, heard="answered")
        post(signed_in, bay, "job_break_sensor")
        assert body_now(bay) is not None


class TestJobPlainValve:
    @pytest.fixture(autouse=True)
    def valve(self, bay):
        """As the fit rules never offer one where a sensor belongs, the hole finds it."""
        told = {"hole": "453", "list_price_cents": 300, "rated_pressure_kpa": 450}
        part = make_part("plain_valve", words="Valve", **told)
        make_part("plain_valve", **told | {"rated_pressure_kpa": 200})
        make_part("plain_valve", **told | {"hole": "625"})
        make_stock(part, bay.site, pieces=2)
        return part

    TOLD = {"key": "v1", "who": "Mr Reed", "how": "phone", "reason": "sells it next week"}

    def test_in_place_of_a_dead_sensor_keeps_who_decided(self, signed_in, bay, valve):
        read(signed_in, bay)
        assert "A plain valve instead" in page(signed_in, bay.job)
        for _ in range(2):
            post(signed_in, bay, "job_plain_valve", **self.TOLD)
        sold = bay.job.lines.get(action="plain_valve", kind="part")
        assert (sold.wheel, sold.part) == (bay.wheel, valve)
        [agreed] = bay.job.approvals.all()
        assert (agreed.who, agreed.decides_safety, agreed.wheel) == ("Mr Reed", True, bay.wheel)
        assert agreed.lines.startswith("Plain valve front left: the sensor came in dead")
        assert body_now(bay) is None

    def test_never_takes_the_place_of_a_sensor_that_works(self, signed_in, bay):
        read(signed_in, bay, heard="answered")
        assert "A plain valve instead" not in page(signed_in, bay.job)
        answer = post(signed_in, bay, "job_plain_valve", **self.TOLD)
        assert "may only take the place of a sensor that came in dead" in answer
        assert not bay.job.approvals.exists()

    def test_nor_of_one_that_broke_in_our_hands(self, signed_in, bay):
        read(signed_in, bay, heard="answered")
        post(signed_in, bay, "job_break_sensor", sure="on")
        assert "A plain valve instead" not in page(signed_in, bay.job)

    def test_cannot_be_had_as_any_other_action(self, signed_in, bay):
        read(signed_in, bay)
        do(signed_in, bay, "plain_valve", reason="cheaper")
        assert not bay.job.lines.exists()
