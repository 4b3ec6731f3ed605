"""What the page's own script is told of a posting; anybody else gets the ordinary answer."""

import pytest
from django.test import Client, override_settings
from django.urls import reverse

from inventory.ledger.models import Shelf
from tests.make import make_part, make_site, make_stock, make_user

pytestmark = pytest.mark.django_db
BY_PAGE = {"X-Sent-By-Page": "1"}


@pytest.fixture
def kit():
    part = make_part("kit")
    make_stock(part, make_site(), pieces=4)
    return part


@pytest.fixture
def issue(client, kit):
    site = Shelf.objects.get().site
    client.force_login(make_user(home_site=site))

    def send(pieces=1, headers=BY_PAGE, client=client):
        form = {"key": "k", "site": site.pk, "pieces": pieces, "occasion": ""}
        return client.post(reverse("inventory:part_issue", args=[kit.pk]), form, headers=headers)

    return send


class TestTellWhereItLeads:
    def test_a_redirect_is_told_in_a_header(self, issue, kit):
        answer = issue()
        assert (answer.status_code, answer.content) == (200, b"")
        assert "Location" not in answer.headers
        shelf = reverse("inventory:part_shelf", args=[kit.pk])
        assert answer.headers["X-Leads-To"].startswith(f"{shelf}?done=")

    def test_a_form_that_was_refused_leads_nowhere(self, issue):
        answer = issue(pieces=5)
        assert (answer.status_code, answer.headers["X-Leads-To"]) == (200, "")
        assert "Only 4 of" in answer.content.decode()

    def test_whoever_is_logged_out_is_told_so(self, issue):
        answer = issue(client=Client())
        assert (answer.status_code, answer.content) == (401, b"")

    def test_whoever_lost_all_cookies_is_told_so_too(self, issue):
        assert issue(client=Client(enforce_csrf_checks=True)).status_code == 401

    def test_a_planner_that_fails_still_says_that_it_answered(self, client):
        client.force_login(make_user())
        client.raise_request_exception = False
        with override_settings(ROOT_URLCONF="tests.shopparts.test_shell"):
            answer = client.post("/broken/", headers=BY_PAGE)
        assert (answer.status_code, answer.headers["X-Leads-To"]) == (500, "")

    def test_an_ordinary_form_is_answered_as_ever(self, issue):
        answer = issue(headers={})
        assert answer.status_code == 302
        assert "X-Leads-To" not in answer.headers
