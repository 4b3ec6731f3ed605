import pytest
from django.urls import reverse

from inventory.catalog.evidence import contradict_fit
from inventory.ledger.actions import receive_stock
from inventory.ledger.models import Condition
from inventory.shop.roles import Role
from tests.make import PASSWORD, make_application, make_part, make_site, make_user

pytestmark = pytest.mark.django_db


def log_in(client, username, password=PASSWORD, **extra):
    return client.post(reverse("log_in"), {"username": username, "password": password}, **extra)


class TestLogIn:
    def test_opens_the_page_that_was_asked_for(self, client):
        make_user(username="ada")
        answer = client.get(reverse("change_password"))
        assert answer.headers["Location"] == "/log-in/?next=/password/"
        answer = client.post(
            "/log-in/", {"username": "ada", "password": PASSWORD, "next": "/password/"}
        )
        assert answer.headers["Location"] == "/password/"

    def test_never_leads_off_the_site(self, client):
        make_user(username="ada")
        form = {"username": "ada", "password": PASSWORD, "next": "https://elsewhere.example/"}
        assert client.post("/log-in/", form).headers["Location"] == "/"

    def test_a_wrong_password_says_what_to_do(self, client):
        make_user(username="ada")
        assert (
            "This name and password do not belong together. Check both; capitals count."
            in log_in(client, "ada", "wrong").content.decode()
        )

    def test_the_sixth_try_is_refused_even_with_the_right_password(self, client):
        make_user(username="ada")
        for _ in range(5):
            log_in(client, "ada", "wrong")
        answer = log_in(client, "ada")
        assert answer.status_code == 429
        assert "For 15 minutes this name cannot log in from here" in answer.content.decode()
        assert "_auth_user_id" not in client.session

    def test_others_still_log_in_from_there(self, client):
        make_user(username="ada")
        make_user(username="ben")
        for _ in range(6):
            log_in(client, "ada", "wrong")
        assert log_in(client, "ben").headers["Location"] == "/"

    def test_a_part_of_a_page_loads_the_whole_log_in_page(self, client):
        answer = client.get("/log-in/", headers={"HX-Request": "true"})
        assert answer.headers["HX-Redirect"] == "/log-in/"

    def test_someone_logged_in_goes_on(self, client):
        client.force_login(make_user())
        assert client.get("/log-in/").headers["Location"] == "/"


class TestLogOut:
    def test_ends_the_session(self, client):
        client.force_login(make_user())
        assert client.post(reverse("log_out")).headers["Location"] == "/log-in/"
        assert "_auth_user_id" not in client.session


class TestChangePassword:
    form = {"new_password1": "quite-another-word-9", "new_password2": "quite-another-word-9"}

    def test_the_new_password_opens_and_the_session_stays(self, client):
        client.force_login(make_user(username="ada"))
        client.post(reverse("change_password"), self.form | {"old_password": PASSWORD})
        assert client.get("/").status_code == 200
        client.logout()
        assert log_in(client, "ada", "quite-another-word-9").headers["Location"] == "/"

    def test_a_wrong_present_password_is_refused(self, client):
        client.force_login(make_user())
        answer = client.post(reverse("change_password"), self.form | {"old_password": "wrong"})
        assert "This is not your present password. Type it once more." in answer.content.decode()


class TestSwitchSite:
    def test_the_chosen_site_stays_chosen(self, client):
        home, other = make_site(name="Harbour"), make_site(name="Mill Road")
        client.force_login(make_user(home_site=home))
        assert client.get("/").context["site"] == home
        answer = client.post(reverse("switch_site"), {"site": other.pk, "next": "/password/"})
        assert answer.headers["Location"] == "/password/"
        assert client.get("/").context["site"] == other

    @pytest.mark.parametrize("wrong", ["", "0", "x", "999999999999999999999"])
    def test_an_unknown_site_is_not_found(self, client, wrong):
        make_site()
        client.force_login(make_user())
        assert client.post(reverse("switch_site"), {"site": wrong}).status_code == 404

    def test_goods_on_the_road_are_no_site_to_stand_in(self, client):
        road = make_site(kind="transit")
        client.force_login(make_user())
        assert client.post(reverse("switch_site"), {"site": road.pk}).status_code == 404


class TestToday:
    @pytest.mark.parametrize("role", Role.values)
    def test_names_the_site(self, client, role):
        site = make_site(name="Mill Road")
        client.force_login(make_user(role, home_site=site))
        assert "Mill Road" in client.get(reverse("today")).content.decode()

    def test_what_waits_is_counted_and_leads_there(self, client):
        site = make_site(name="Mill Road")
        client.force_login(make_user(Role.PARTS_MANAGER, home_site=site))
        assert "Today at Mill Road" in client.get("/").content.decode()
        part = make_part()
        receive_stock(
            part, site=site, pieces=1, value_cents=1, by=None, key="1", condition=Condition.DECIDE
        )
        text = client.get("/").content.decode()
        assert "1 thing waits for you at Mill Road" in text
        assert "1 with pieces to check or claim" in text

    def test_what_is_open_in_the_catalogue_waits_for_the_parts_manager(self, client):
        application = make_application(status="draft")
        contradict_fit(application, make_part(), reason="not heard", job_key="J1", by=None)
        for role, there in ((Role.TECHNICIAN, False), (Role.PARTS_MANAGER, True)):
            client.force_login(make_user(role, home_site=make_site()))
            text = client.get("/").content.decode()
            assert ("1 drafted entries to check" in text) == there
            assert ("1 parts that did not fit, to decide" in text) == there

    def test_a_technician_sees_what_they_posted_today(self, client):
        site, person = make_site(), make_user()
        client.force_login(person)
        part = make_part(number="AB-1")
        for by, key in ((person, "mine"), (None, "theirs")):
            receive_stock(part, site=site, pieces=3, value_cents=1, by=by, key=key)
        text = client.get("/").content.decode()
        assert text.count("AB-1") == 1
        assert "Received 3 pieces" in text

    def test_the_owner_sees_what_the_shelves_cost_and_nobody_else(self, client):
        site = make_site()
        receive_stock(make_part(), site=site, pieces=3, value_cents=791913, by=None, key="1")
        for role in Role:
            client.force_login(make_user(role))
            assert ("$7,919.13" in client.get("/").content.decode()) == (role == Role.OWNER)

    def test_a_shop_without_a_site_still_opens(self, client):
        client.force_login(make_user(Role.OWNER))
        assert client.get("/").status_code == 200
