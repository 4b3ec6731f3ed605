import pytest
from django.test import Client, override_settings
from django.urls import path, reverse

from inventory.shop.models import ShopSettings
from inventory.shop.roles import Role
from shopparts import views, views_fit
from shopparts.shell import words
from tests.make import make_site, make_user

pytestmark = pytest.mark.django_db


def broken(request):
    raise RuntimeError("the page breaks")


urlpatterns = [
    path("", views.today, name="today"),
    path("search/", views_fit.search, name="search"),
    path("log-in/", views.log_in, name="log_in"),
    path("log-out/", views.log_out, name="log_out"),
    path("password/", views.change_password, name="change_password"),
    path("site/", views.switch_site, name="switch_site"),
    path("broken/", broken),
]


class TestShell:
    def test_a_word_appears_only_when_its_page_exists(self, rf):
        request = rf.get("/")
        request.user = make_user(Role.OWNER)
        with override_settings(ROOT_URLCONF=__name__):
            assert [word.text for word in words(request)] == ["Today"]

    def test_the_word_of_the_page_is_marked(self, client):
        client.force_login(make_user())
        assert [w.text for w in client.get("/").context["words"] if w.current] == ["Today"]

    @pytest.mark.parametrize("name", ["scan_issue", "count_list", "hold_list", "transfer_list"])
    def test_the_stock_pages_stand_below_stock(self, client, name):
        client.force_login(make_user(home_site=make_site()))
        page = client.get(reverse(f"inventory:{name}"))
        assert [w.text for w in page.context["words"] if w.current] == ["Stock"]

    def test_signed_out_shows_no_words_and_no_search(self, client):
        page = client.get("/log-in/").content.decode()
        assert "<nav" not in page
        assert 'type="search"' not in page

    def test_one_site_needs_no_switch(self, client):
        site = make_site(name="Mill Road")
        client.force_login(make_user(home_site=site))
        assert reverse("switch_site") not in client.get("/").content.decode()

    def test_the_frame_costs_the_same_with_many_sites(self, client, django_assert_num_queries):
        ShopSettings.load()
        client.force_login(make_user(home_site=make_site()))
        with django_assert_num_queries(4):  # session, person, shop, sites
            client.get("/password/")
        for _ in range(20):
            make_site()
        with django_assert_num_queries(4):
            client.get("/password/")

    def test_no_script_or_style_stands_in_the_page(self, client):
        client.force_login(make_user())
        answer = client.get("/")
        page = answer.content.decode()
        assert "<style" not in page
        assert " style=" not in page
        assert page.count("<script") == page.count("<script src=")
        assert answer.headers["Content-Security-Policy"].count("'self'") == 6
        assert "unsafe" not in answer.headers["Content-Security-Policy"]


class TestErrorPages:
    def test_an_unknown_address_says_where_to_go(self, client):
        client.force_login(make_user())
        answer = client.get("/nowhere/")
        assert answer.status_code == 404
        assert "Nothing is kept at this address" in answer.content.decode()

    def test_an_old_form_says_so(self):
        answer = Client(enforce_csrf_checks=True).post("/log-in/", {})
        assert answer.status_code == 403
        assert "This form is too old" in answer.content.decode()

    def test_a_broken_page_says_nothing_was_saved(self, client):
        client.force_login(make_user())
        client.raise_request_exception = False
        with override_settings(ROOT_URLCONF=__name__):
            answer = client.get("/broken/")
        assert answer.status_code == 500
        assert "Nothing was saved by this step." in answer.content.decode()

    def test_a_damaged_request_says_so(self, client, settings):
        settings.ALLOWED_HOSTS = ["shop.example"]
        client.raise_request_exception = False
        answer = client.get("/", headers={"Host": "elsewhere.example"})
        assert answer.status_code == 400
        assert "This request cannot be read" in answer.content.decode()
