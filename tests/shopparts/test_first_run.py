import pytest
from django.contrib.auth import get_user_model

from inventory.models import ShopSettings, Site
from shopparts.first_run import first_owner_path

pytestmark = pytest.mark.django_db

ANSWERS = {
    "shop_name": "Saltmarsh Wheel and Tire",
    "site_name": "Harbor Street",
    "zone": "America/New_York",
    "username": "ines",
    "first_name": "Ines",
    "last_name": "Quill",
    "password1": "kelp-and-gravel-22",
    "password2": "kelp-and-gravel-22",
}


class TestFirstOwner:
    def test_shows_the_form_to_whoever_has_the_address(self, client):
        page = client.get(first_owner_path())
        assert page.status_code == 200
        assert b"Make the owner" in page.content

    def test_makes_the_owner_the_shop_and_its_first_site(self, client):
        answer = client.post(first_owner_path(), ANSWERS)
        assert answer.status_code == 302
        owner = get_user_model().objects.get()
        assert owner.is_owner
        assert owner.check_password("kelp-and-gravel-22")
        assert ShopSettings.load().name == "Saltmarsh Wheel and Tire"
        assert owner.home_site == Site.objects.get(name="Harbor Street")
        assert client.get("/").status_code == 200

    def test_refuses_a_time_zone_that_does_not_exist(self, client):
        page = client.post(first_owner_path(), ANSWERS | {"zone": "Mars/Olympus"})
        assert "“Mars/Olympus” is not a time zone" in page.content.decode()
        assert not get_user_model().objects.exists()

    def test_refuses_a_password_that_is_too_common(self, client):
        common = {"password1": "password", "password2": "password"}
        client.post(first_owner_path(), ANSWERS | common)
        assert not get_user_model().objects.exists()
        assert not Site.objects.exists()

    def test_refuses_an_address_made_up(self, client):
        assert client.get("/first-owner/made-up/").status_code == 404

    def test_works_once(self, client):
        path = first_owner_path()
        client.post(path, ANSWERS)
        client.logout()
        answer = client.post(path, ANSWERS | {"username": "thief"})
        assert answer.status_code == 302
        assert get_user_model().objects.count() == 1
        assert first_owner_path() is None
