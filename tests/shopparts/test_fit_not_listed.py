from datetime import date

import pytest
from django.urls import reverse

from inventory.catalog.models import Application
from inventory.catalog.names import names
from jobs.workshop.models import Fitted
from tests.make import (
    make_application,
    make_fitment,
    make_part,
    make_site,
    make_user,
    make_vehicle,
    make_wheels,
)

pytestmark = pytest.mark.django_db
SEEN = {
    "key": "form-1",
    "year": "2014",
    "make": "Merow",
    "model": "Lista",
    "system": "direct",
    "band": "433",
    "mounting": "clamp_in",
    "hole": "453",
    "construction": "unknown",
}


@pytest.fixture
def client(client):
    names.forget()
    client.force_login(make_user(home_site=make_site()))
    yield client
    names.forget()


class TestFitNotListed:
    def test_what_was_seen_fits_at_once(self, client):
        make_part(number="UNI", universal=True, mounting="clamp_in")
        make_part(number="OTHER", universal=True, band_433=False, band_315=True)
        text = client.post(reverse("fit_not_listed"), SEEN, follow=True).content.decode()
        assert "Draft: the parts manager has not checked it" in text
        assert "2014 Merow Lista is in the list of drafts; the parts manager checks it." in text
        assert "UNI" in text
        assert "OTHER" not in text

    def test_sent_twice_it_drafts_once(self, client):
        answers = [client.post(reverse("fit_not_listed"), SEEN) for _ in range(2)]
        assert len({answer.headers["Location"] for answer in answers}) == 1
        assert Application.objects.count() == 1

    def test_takes_along_what_was_answered_and_shows_what_is_listed(self, client):
        make_application(make="Merow", model="Lista")
        address = reverse("fit_not_listed")
        text = client.get(
            address, {"make": "Merow", "model": "Lista", "band": "315", "trim": "?"}
        ).content.decode()
        assert "Listed already, and alike" in text
        assert 'value="Lista"' in text
        assert '<option value="315" selected>' in text
        assert 'value="?"' not in text

    def test_a_year_that_cannot_be_is_refused_beside_its_field(self, client):
        text = client.post(reverse("fit_not_listed"), SEEN | {"year": "14"}).content.decode()
        assert "Ensure this value is greater than or equal to 1980." in text
        assert Application.objects.count() == 0

    def test_a_refusal_of_the_catalogue_is_said(self, client):
        text = client.post(
            reverse("fit_not_listed"), SEEN | {"system": "indirect"}
        ).content.decode()
        assert "An indirect system has no sensor in the wheel; leave the band blank." in text

    def test_goes_on_for_the_vehicle_it_began_with(self, client):
        vehicle = make_vehicle()
        answer = client.post(f"{reverse('fit_not_listed')}?vehicle={vehicle.pk}", SEEN)
        assert answer.headers["Location"].endswith(f"/?vehicle={vehicle.pk}")


class TestFitForAVehicle:
    def test_the_pressure_really_set_rules_a_snap_in_out(self, client):
        application = make_application(mounting="snap_in", placard_front_kpa=230)
        make_fitment(application, make_part(mounting="snap_in", rated_pressure_kpa=450))
        van = make_vehicle(application, plate="VAN 1", pressure_set_kpa=480)
        address = reverse("fit_answer", args=[application.pk])
        assert "left out, and why" not in client.get(address).content.decode()
        text = client.get(address, {"vehicle": van.pk}).content.decode()
        assert "1 left out, and why" in text
        assert "which is set to 69.6 psi" in text
        # What is said of this wheel goes before what is written down of the vehicle.
        text = client.get(address, {"vehicle": van.pk, "pressure_set": "33"}).content.decode()
        assert "left out, and why" not in text

    def test_a_known_month_of_building_asks_nothing(self, client):
        for number, months in (
            ("EARLY", {"built_to": date(2016, 2, 1)}),
            ("LATE", {"built_from": date(2016, 3, 1)}),
        ):
            make_fitment(make_application(**months), make_part(number=number))
        vehicle = make_vehicle(make_application(model="Tour"), built_month=date(2016, 3, 1))
        asked = {"make": "Merow", "model": "Lista"}
        assert "When was it built?" in client.get(reverse("fit"), asked).content.decode()
        text = client.get(reverse("fit"), asked | {"vehicle": vehicle.pk}).content.decode()
        assert "LATE" in text
        assert "EARLY" not in text

    def test_its_own_entry_need_not_be_given_to_it(self, client):
        vehicle = make_vehicle(plate="QX 71B")
        assert vehicle.application
        address = reverse("fit_answer", args=[vehicle.application.pk])
        text = client.get(address, {"vehicle": vehicle.pk}).content.decode()
        assert 'value="QX 71B"' not in text


class TestFitGive:
    def give(self, client, application, **fields):
        address = reverse("fit_give", args=[application.pk])
        return client.post(address, fields, follow=True).content.decode()

    def test_a_vehicle_without_an_entry_gets_one_and_its_sensors(self, client):
        vehicle = make_vehicle(plate="QX 71B")
        vehicle.application = None
        vehicle.save()
        make_wheels(vehicle)
        assert not Fitted.objects.exists()
        application = make_application(mounting="snap_in")
        text = self.give(client, application, vehicle="qx71b")
        assert "QX 71B is written down as 2013–2016 Merow Lista." in text
        vehicle.refresh_from_db()
        assert vehicle.application == application
        assert Fitted.objects.filter(wheel__vehicle=vehicle).count() == 8

    def test_another_entry_needs_to_be_said(self, client):
        vehicle, other = make_vehicle(plate="QX 71B"), make_application(model="Tour")
        text = self.give(client, other, vehicle="QX 71B")
        assert (
            "QX 71B is written down as 2013–2016 Merow Lista; say that it is to be changed, "
            "or leave it." in text
        )
        self.give(client, other, vehicle="QX 71B", instead="on")
        vehicle.refresh_from_db()
        assert vehicle.application == other

    def test_an_unknown_vehicle_is_said(self, client):
        text = self.give(client, make_application(), vehicle="ZZ 1")
        assert "No vehicle is written down as “ZZ 1”; check it, or write it down as new." in text

    def test_two_vehicles_of_one_plate_are_told_apart_by_vin(self, client):
        make_vehicle(plate="QX 71B", in_service_on=date(2019, 1, 1))
        make_vehicle(plate="QX-71B")
        text = self.give(client, make_application(), vehicle="QX 71B")
        assert "Several vehicles are known as “QX 71B”; give the VIN instead." in text

    def test_the_way_from_a_vehicle_fills_in_which_it_is(self, client):
        vehicle = make_vehicle(plate="QX 71B")
        application = make_application(model="Tour")
        make_fitment(application, make_part())
        for name, args, query in (
            ("fit_answer", [application.pk], {}),
            ("fit", [], {"make": "Merow", "model": "Tour"}),
        ):
            text = client.get(reverse(name, args=args), query | {"vehicle": vehicle.pk})
            assert 'value="QX 71B"' in text.content.decode()

    @pytest.mark.parametrize("vehicle", ["x", "", "9" * 30, "٣", "999999999"])
    def test_an_odd_vehicle_is_no_error(self, client, vehicle):
        address = reverse("fit_answer", args=[make_application().pk])
        assert client.get(address, {"vehicle": vehicle}).status_code == 200
