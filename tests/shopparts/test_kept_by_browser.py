"""A page is asked for anew whenever it is shown, by the Back button too."""

import pytest
from django.urls import reverse

from tests.make import make_part, make_user

pytestmark = pytest.mark.django_db


class TestKeepNoPage:
    def test_a_page_with_a_key_is_not_kept(self, client):
        client.force_login(make_user())
        answer = client.get(reverse("inventory:part_shelf", args=[make_part().pk]))
        # RFC 9111, 5.2.2.5: no-store keeps it out of every cache, that of Back included.
        assert "no-store" in answer.headers["Cache-Control"]
