from io import StringIO

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from tests.make import make_user

pytestmark = pytest.mark.django_db


class TestLetIn:
    def test_prints_an_address_that_opens(self, client):
        make_user("owner", username="ruth")
        out = StringIO()
        call_command("let_in", "ruth", site="https://shop.example/", stdout=out)
        said, _, path = out.getvalue().strip().partition(" at https://shop.example")
        assert said == "ruth chooses a new password"
        assert client.get(path).status_code == 200

    def test_nobody_else(self):
        make_user(username="ruth")
        make_user(username="gone", is_active=False)
        for name in ("gone", "eve"):
            with pytest.raises(CommandError) as refused:
                call_command("let_in", name)
            assert str(refused.value) == (
                f"Nobody who may sign in is called “{name}”; choose one of: ruth."
            )
