import pytest
from django.db import DatabaseError, connection
from django.urls import reverse


@pytest.mark.django_db
class TestHealth:
    def test_says_one_line_to_anybody(self, client):
        answer = client.get(reverse("health"))
        assert (answer.status_code, answer.content) == (200, b"All right.\n")
        assert answer.headers["Content-Type"] == "text/plain"
        assert "no-store" in answer.headers["Cache-Control"]

    def test_a_database_that_does_not_answer_is_told(self, client):
        def fails(*args):
            raise DatabaseError("gone: host 10.0.0.7")

        with connection.execute_wrapper(fails):
            answer = client.get(reverse("health"))
        assert (answer.status_code, answer.content) == (503, b"The database does not answer.\n")

    def test_a_proxy_needs_no_https_for_it(self, client, settings):
        settings.SECURE_SSL_REDIRECT = True
        assert client.get(reverse("health")).status_code == 200
        assert client.get(reverse("log_in")).status_code == 301
