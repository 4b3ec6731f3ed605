"""One form sent many times at once. On SQLite writers queue anyway; PostgreSQL shows naive code."""

from datetime import date

import pytest
from django.db import connection

from inventory.catalog.actions.drafts import Seen, draft_application
from inventory.catalog.models import Application
from inventory.shop.models import Change
from tests.inventory.reorder.test_races import at_once
from tests.make import make_part

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture(autouse=True)
def _on_postgres():
    if connection.vendor != "postgresql":
        pytest.skip("SQLite serves one writer at a time; run this on PostgreSQL.")


class TestDraftAtOnce:
    def test_one_key_drafts_once_and_gives_all_the_same(self):
        make_part(universal=True)

        def draft(_number):
            return draft_application(
                Seen(band="433"),
                make="Merow",
                model="Lista",
                year=2014,
                on=date(2026, 3, 4),
                key="k",
                by=None,
            )

        assert len({one.pk for one in at_once(draft)}) == 1
        assert Application.objects.get().fitments.count() == 1
        assert Change.objects.count() == 1
