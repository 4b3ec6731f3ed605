"""Every page says in two short lines what it answers and what to do on it."""

import pytest
from django.urls import reverse

from inventory.shop.roles import Role
from shopparts.page_help import PAGES
from tests.addresses import own_addresses
from tests.make import make_site, make_user
from tests.test_names import methods

LONGEST = 220
NO_PAGE = {"health"}
"""Answers to programs."""


def pages():
    return {a.name for a in own_addresses() if "GET" in methods(a)} - NO_PAGE


class TestPages:
    def test_every_page_has_its_lines_and_nothing_else_has(self):
        assert set(PAGES) == pages()

    def test_a_page_needs_no_more_than_two_lines(self):
        long = {name for name, lines in PAGES.items() if len(" ".join(lines)) > LONGEST}
        assert long == set()

    def test_each_line_is_a_sentence(self):
        lines = [line for both in PAGES.values() for line in both]
        assert [line for line in lines if not line.endswith(".") or line != line.strip()] == []


@pytest.mark.django_db
class TestAboutPage:
    def test_stands_once_in_the_shell_of_a_page(self, client):
        client.force_login(make_user(Role.TECHNICIAN, home_site=make_site()))
        text = client.get(reverse("fit")).content.decode()
        assert text.count("About this page") == 1
        for line in PAGES["fit"]:
            assert line in text

    def test_helps_whoever_has_not_signed_in(self, client):
        text = client.get(reverse("log_in")).content.decode()
        assert PAGES["log_in"][1] in text

    def test_costs_a_page_few_bytes(self, client):
        client.force_login(make_user(Role.TECHNICIAN, home_site=make_site()))
        text = client.get(reverse("fit")).content.decode()
        start = text.index('<details class="menu about">')
        assert text.index("</details>", start) - start < 500

    def test_an_error_page_has_none(self, client):
        client.force_login(make_user(Role.TECHNICIAN, home_site=make_site()))
        answer = client.get("/no-such-page/")
        assert answer.status_code == 404
        assert "About this page" not in answer.content.decode()
