from datetime import date, timedelta

import pytest
from django.urls import reverse
from lxml import html

from jobs.models import Job, Vehicle
from jobs.workshop.actions.vehicles import set_up_wheels
from jobs.workshop.actions.wheels import set_wheel_id
from tests.make import make_keeper, make_user, make_vehicle

pytestmark = pytest.mark.django_db


class TestVehicleDetail:
    def test_shows_wheels_with_ages_and_history(self, signed_in, bay):
        answer = signed_in.get(reverse("jobs:vehicle_detail", args=[bay.vehicle.pk]))
        shown = answer.content.decode()
        assert "Front left" in shown
        assert "years" in shown
        assert f"Job {bay.job} is open" in shown

    def test_folds_away_what_was_long_ago(self, signed_in, bay):
        address = reverse("jobs:vehicle_detail", args=[bay.vehicle.pk])
        assert "Earlier" not in signed_in.get(address).content.decode()
        days = [date(2024, 3, 2) + timedelta(days=n) for n in range(25)]
        for on in days:
            set_wheel_id(bay.wheel, sensor_id=f"{on:%Y%m%d}", origin="new", on=on)
        shown, earlier = signed_in.get(address).content.decode().split("Earlier")
        assert f"Answers with {days[-1]:%Y%m%d}" in shown
        assert f"Answers with {days[0]:%Y%m%d}" in earlier

    def test_keeps_its_number_of_queries(self, signed_in, bay, django_assert_max_num_queries):
        with django_assert_max_num_queries(30):
            signed_in.get(reverse("jobs:vehicle_detail", args=[bay.vehicle.pk]))


class TestVehicleChange:
    @staticmethod
    def address(bay):
        return reverse("jobs:vehicle_change", args=[bay.vehicle.pk])

    def test_opens_with_what_is_known(self, signed_in, bay, django_assert_max_num_queries):
        with django_assert_max_num_queries(15):
            shown = signed_in.get(self.address(bay)).content.decode()
        assert f'value="{bay.vehicle.plate}"' in shown
        assert "Erase" not in shown

    def test_writes_down_who_brings_it_and_shows_the_phone(self, signed_in, bay):
        sent = {"plate": bay.vehicle.plate, "keeper_name": "Ada Fisher", "keeper_phone": "555 0117"}
        answer = signed_in.post(self.address(bay), sent, follow=True)
        assert "tel:555 0117" in answer.content.decode()

    def test_reads_and_shows_a_pressure_in_the_unit_of_the_shop(self, signed_in, bay):
        # 60 psi are 413.7 kPa: 1 psi = 6.894757 kPa (NIST SP 811, appendix B.8).
        signed_in.post(self.address(bay), {"plate": bay.vehicle.plate, "pressure_set_kpa": "60"})
        bay.vehicle.refresh_from_db()
        assert bay.vehicle.pressure_set_kpa == 414
        shown = html.fromstring(signed_in.get(self.address(bay)).content)
        (field,) = shown.xpath("//input[@name='pressure_set_kpa']")
        assert float(field.get("value")) == 60

    def test_refuses_a_number_that_is_too_short_and_keeps_what_was_typed(self, signed_in, bay):
        sent = {"vin": "ZZZ1", "keeper_name": "Ada Fisher"}
        shown = signed_in.post(self.address(bay), sent).content.decode()
        assert "A VIN has 17 characters; “ZZZ1” has 4. Read it again." in shown
        assert "Ada Fisher" in shown
        bay.vehicle.refresh_from_db()
        assert bay.vehicle.keeper is None


class TestKeeperForget:
    def test_an_owner_erases_name_and_phone(self, client, bay):
        client.force_login(make_user("owner"))
        vehicle = make_vehicle(keeper=make_keeper(name="Ada Fisher", phone="555 0117"))
        address = reverse("jobs:keeper_forget", args=[vehicle.pk])
        shown = client.post(address, follow=True).content.decode()
        assert "Name and phone are erased" in shown
        assert "Ada Fisher" not in shown


class TestVehicleMount:
    @pytest.fixture(autouse=True)
    def winter(self, bay):
        set_up_wheels(bay.vehicle, on=date(2024, 3, 1), set_name="Winter", stored=True)
        return bay.vehicle.wheel_sets.get()

    @staticmethod
    def address(bay):
        return reverse("jobs:vehicle_mount", args=[bay.vehicle.pk])

    def test_is_reached_from_the_vehicle_and_from_its_open_job(self, signed_in, bay, winter):
        for page in (bay.vehicle, bay.job):
            name = "vehicle_detail" if page is bay.vehicle else "job_detail"
            shown = signed_in.get(reverse(f"jobs:{name}", args=[page.pk])).content.decode()
            assert self.address(bay) in shown

    def test_sent_twice_mounts_the_set_once(self, signed_in, bay, winter):
        sent = {"mount": winter.pk, "stored_where": "rack 4", "called": "Summer"}
        for _ in range(2):
            answer = signed_in.post(self.address(bay), sent)
            assert answer.url == reverse("jobs:vehicle_detail", args=[bay.vehicle.pk])
        shown = signed_in.get(answer.url).content.decode()
        assert "Summer, rack 4" in shown
        assert "Mount Summer" in shown
        assert bay.wheel.places.count() == 2

    def test_asks_for_a_name_where_the_wheels_on_it_have_none(self, signed_in, bay, winter):
        answer = signed_in.post(self.address(bay), {"mount": winter.pk})
        assert "This field is required." in answer.content.decode()
        assert bay.wheel.places.count() == 1

    def test_refuses_a_name_that_is_taken(self, signed_in, bay, winter):
        answer = signed_in.post(self.address(bay), {"mount": winter.pk, "called": "Winter"})
        assert "This vehicle already has a set of this name." in answer.content.decode()
        assert bay.wheel.places.count() == 1

    def test_keeps_its_number_of_queries(self, signed_in, bay, django_assert_max_num_queries):
        with django_assert_max_num_queries(20):
            signed_in.get(self.address(bay))


class TestVehicleNew:
    def test_sets_up_its_wheels_from_what_fits(self, signed_in, bay):
        fields = {"plate": "GULL 7", "application": bay.application.pk}
        answer = signed_in.post(reverse("jobs:vehicle_new"), fields)
        vehicle = Vehicle.objects.get(plate="GULL 7")
        assert answer.url == reverse("jobs:vehicle_detail", args=[vehicle.pk])
        assert vehicle.wheels.count() == 4

    def test_asks_for_something_to_find_it_by(self, signed_in, bay):
        answer = signed_in.post(reverse("jobs:vehicle_new"), {})
        assert "Give the VIN, the plate or the unit number" in answer.content.decode()

    def test_names_the_vehicle_the_fit_page_found(self, signed_in, bay):
        address = reverse("jobs:vehicle_new") + f"?application={bay.application.pk}"
        assert "Merow Lista" in signed_in.get(address).content.decode()


class TestJobOpen:
    def test_opens_a_job_and_goes_there(self, signed_in, bay):
        Job.objects.all().update(closed_at=bay.job.opened_at, closed_on=bay.site.today())
        address = reverse("jobs:job_open", args=[bay.vehicle.pk])
        answer = signed_in.post(address, {"kind": "tire_change", "odometer_km": "84000"})
        job = Job.objects.get(closed_at=None)
        assert answer.url == reverse("jobs:job_detail", args=[job.pk])
        assert job.technician == bay.technician

    def test_sent_twice_it_leads_to_the_job_it_opened(self, signed_in, bay):
        Job.objects.all().update(closed_at=bay.job.opened_at, closed_on=bay.site.today())
        address = reverse("jobs:job_open", args=[bay.vehicle.pk])
        said = {"kind": "tire_change", "odometer_km": "", "words": "slow leak"}
        first, second = signed_in.post(address, said), signed_in.post(address, said)
        assert first.url == second.url
        assert Job.objects.open().count() == 1

    def test_refuses_a_second_job_at_a_time(self, signed_in, bay):
        address = reverse("jobs:job_open", args=[bay.vehicle.pk])
        answer = signed_in.post(address, {"kind": "sensor"})
        assert str(bay.job) in answer.content.decode()
        assert Job.objects.count() == 1
