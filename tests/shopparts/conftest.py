"""The demo shop for the tests that ask it questions."""

from io import StringIO

import pytest
from django.core.management import call_command
from django.db import connection, transaction

from inventory.catalog.names import names
from inventory.ledger.triggers import create_triggers


@pytest.fixture(scope="class")
def demo(django_db_setup, django_db_blocker):
    """The demo shop, loaded once for the tests of a class and taken out again after them."""
    out = StringIO()
    names.forget()
    with django_db_blocker.unblock(), transaction.atomic():
        if connection.vendor == "sqlite":
            # A test with real transactions may have dropped them to empty the ledger.
            create_triggers(connection)
        call_command("demo_shop", stdout=out)
        yield out.getvalue()
        transaction.set_rollback(True)
    names.forget()
